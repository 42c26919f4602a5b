"""A member's own headings: a TOML file that says which column each stands for, such as `"Zeit (min)" = "drain_time"`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path

from pipeline.errors import DrainpoolError
from pipeline.intake.heading_names import heading_key
from pipeline.intake.headings import read_heading
from schemas.column import OwnHeadings
from schemas.kinds.registry import KINDS

EXAMPLE = '"Zeit (min)" = "drain_time"'


def own_headings(path: Path | None) -> OwnHeadings:
    """The own headings that a file lists; none without a file. Raises DrainpoolError, with a sentence, where the
    file can't be read, a value is no column, or a heading or column stands twice."""
    if path is None:
        return ()
    try:
        listed = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        raise _refused(path, "There is no such file.") from None
    except OSError as error:
        raise _refused(
            path, f"The computer could not open it ({error.strerror or 'no reason given'})."
        ) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise _refused(path, f"It is not read as TOML, or has a heading twice ({error}).") from None
    return checked_headings(listed, str(path))


def checked_headings(listed: Mapping[str, object], where: str) -> OwnHeadings:
    """The same of a mapping that was read from `where`."""
    headings: dict[str, str] = {}
    columns: dict[str, str] = {}
    for heading, column in listed.items():
        name = column_named(column)
        if name is None:
            raise _refused(where, f"“{heading}” = “{column}”: that is no column of a {_titles()}.")
        key = heading_key(heading)
        if not key:
            raise _refused(where, f"“{heading}” holds no letter or digit, so no heading can be found by it.")
        if key in headings:
            raise _refused(where, f"The heading “{heading}” stands twice.")
        if name in columns:
            raise _refused(where, f"“{columns[name]}” and “{heading}” are both said to be {name}.")
        headings[key] = columns[name] = heading
    return tuple((heading, str(column)) for heading, column in listed.items())


def column_named(text: object) -> str | None:
    """The column that a text names as a heading would, perhaps with a unit; None where it names none."""
    read = [read_heading(text, kind) for kind in KINDS.values()] if isinstance(text, str) else []
    return next((heading.column for heading in read if heading is not None), None)


def _titles() -> str:
    return " or ".join(kind.title for kind in KINDS.values())


def _refused(where: object, why: str) -> DrainpoolError:
    return DrainpoolError(
        f"The list of own headings {where} is not used. {why} Write one line for each own heading, such as {EXAMPLE}. "
        "Nothing was checked or loaded."
    )

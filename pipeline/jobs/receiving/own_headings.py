"""A member's own headings: a TOML file that says which column each stands for, such as `"Zeit (min)" = "drain_time"`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from pipeline.errors import DrainpoolError
from pipeline.intake.files.heading_names import heading_key
from pipeline.intake.files.headings import read_heading
from pipeline.intake.files.opening import open_all
from pipeline.jobs.receiving.checking import received_files
from pipeline.jobs.receiving.sheets import Sheet
from schemas.column import OwnHeadings
from schemas.kinds.registry import KINDS

CELLS_SHOWN, LONGEST_CELL = 3, 40
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


@dataclass(frozen=True)
class OwnColumns:
    """What a sheet lacks, and the columns in it that may be meant. `missing`: required columns without a heading;
    `cells`: by own heading that names no column, its first filled cells. `proposed`: by own heading, the missing column
    that it nearly names, where it is the first to."""

    missing: tuple[str, ...] = ()
    cells: Mapping[str, list[str]] = field(default_factory=dict)
    proposed: Mapping[str, str] = field(default_factory=dict)


def own_columns(sheet: Sheet) -> OwnColumns:
    """The required columns that a sheet lacks and its own columns; nothing where it lacks none or can't be read."""
    table = open_all(received_files([sheet]), tuple(KINDS.values())).tables.get(0)
    if table is None or not table.headings.missing:
        return OwnColumns()
    records = table.records
    if table.body is not None:
        records = [line.split(table.separator) for line in table.body.split("\n")]
    cells: dict[str, list[str]] = {}
    proposed: dict[str, str] = {}
    for position, heading, near in table.headings.unknown:
        column = next((name for name in near if name in table.headings.missing), None)
        if column is not None and column not in proposed.values():
            proposed.setdefault(heading, column)
        filled = (record[position].strip() for record in records if len(record) > position)
        cells.setdefault(heading, [text[:LONGEST_CELL] for text in islice(filter(None, filled), CELLS_SHOWN)])
    return OwnColumns(table.headings.missing, cells, proposed)


def kept_headings(kept: OwnHeadings, sheet: Sheet) -> OwnHeadings:
    """Of headings that a member explained before, those that stand in this sheet and name no column by themselves."""
    keys = {heading_key(heading) for heading in own_columns(sheet).cells} if kept else set()
    return tuple((heading, column) for heading, column in kept if heading_key(heading) in keys)


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

"""The heading line: which column stands where, which unit its heading names, what is unknown, missing or double.

Letter case, spaces, underscores, hyphens and order make no difference. A unit may follow the name
(`drain_time_s`, `poured cups`) or stand in brackets behind it (`drain time (min)`, `pot_volume [ml]`).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

from pipeline.intake.characters import fold
from schemas.column import Column
from schemas.columns import SHEET_COLUMNS
from schemas.units import AmbiguousUnit, Unit, find_unit_in_heading

MOST_COLUMNS = 500

_BETWEEN = re.compile(r"[\s_\-]+")
_BRACKETED = re.compile(r"([^(\[{]+)[(\[{]([^()\[\]{}]*)[)\]}]?\Z")
_KEYS = {_BETWEEN.sub("", column.name): column for column in SHEET_COLUMNS}
_MUST_STAND = tuple(column.name for column in SHEET_COLUMNS if column.required in ("yes", "may be blank"))
_SHARE_COLUMNS = ("component_share", "parts")
_PARTS_COLUMNS = ("base_parts", "component_parts")


class Heading(NamedTuple):
    """One heading that names a column: the column, and the unit that it names."""

    column: str
    unit: Unit | AmbiguousUnit | None


@dataclass(frozen=True)
class Headings:
    """The heading line read. `positions`: where each known column stands (its first place, if twice);
    `unknown`: position and text of headings that name no column; `unnamed`: positions without a heading."""

    width: int
    positions: dict[str, int]
    units: dict[str, Unit | AmbiguousUnit]
    unknown: tuple[tuple[int, str], ...]
    unnamed: tuple[int, ...]
    twice: tuple[tuple[str, str, str], ...]
    missing: tuple[str, ...]
    fewest_cells: int = field(default=0)

    @property
    def complete(self) -> bool:
        """Whether every required column stands once."""
        return not self.missing and not self.twice


@lru_cache(maxsize=4096)
def read_heading(text: str) -> Heading | None:
    """The column that one heading names; None where it names none."""
    plain = fold(text).casefold()
    key = _BETWEEN.sub("", plain)
    if key in _KEYS:
        return Heading(_KEYS[key].name, None)
    bracketed = _BRACKETED.match(plain)
    if bracketed:
        column = _KEYS.get(_BETWEEN.sub("", bracketed[1]))
        if column is not None:
            return Heading(column.name, _unit(bracketed[2], column))
    return _with_unit_behind(plain, key)


def _unit(text: str, column: Column) -> Unit | AmbiguousUnit | None:
    kind = column.unit_kind
    return find_unit_in_heading(text, kind, column.name) if kind and text.strip() else None


def _with_unit_behind(plain: str, key: str) -> Heading | None:
    """A name with a unit behind it, no brackets: `drain_time_s`, `poured fl oz`, `drain time in s`."""
    for name, column in sorted(_KEYS.items(), key=lambda item: -len(item[0])):
        rest = key[len(name) :]
        if not key.startswith(name) or not rest or column.unit_kind is None:
            continue
        if rest == "s" and _BETWEEN.search(plain) and not re.search(r"[\s_\-]s\Z", plain):
            return Heading(column.name, None)  # `drain times` is a plural; only `drain_time_s` names seconds
        rest = rest.strip(",;:.")
        unit = _unit(rest, column)
        if unit is None and rest.startswith("in"):
            unit = _unit(rest[2:], column)
        if unit is not None:
            return Heading(column.name, unit)
    return None


def count_known(cells: Sequence[str]) -> int:
    """How many different columns a line's cells name."""
    if len(cells) < 2 or len(cells) > MOST_COLUMNS:
        return 0
    found = (read_heading(cell) for cell in cells if cell and len(cell) <= 80)
    return len({heading.column for heading in found if heading is not None})


def read_headings(cells: Sequence[str]) -> Headings:
    """The heading line of a sheet, cell by cell."""
    positions: dict[str, int] = {}
    units: dict[str, Unit | AmbiguousUnit] = {}
    unknown: list[tuple[int, str]] = []
    unnamed: list[int] = []
    twice: list[tuple[str, str, str]] = []
    for position, cell in enumerate(cells):
        text = fold(cell)
        heading = read_heading(cell) if len(cell) <= 80 else None
        if not text:
            unnamed.append(position)
        elif heading is None:
            unknown.append((position, text))
        elif heading.column in positions:
            twice.append((heading.column, fold(cells[positions[heading.column]]), text))
        else:
            positions[heading.column] = position
            if heading.unit is not None:
                units[heading.column] = heading.unit
    fewest = max((positions[name] + 1 for name in _MUST_STAND if name in positions), default=0)
    return Headings(
        width=len(cells),
        positions=positions,
        units=units,
        unknown=tuple(unknown),
        unnamed=tuple(unnamed),
        twice=tuple(twice),
        missing=_missing(positions),
        fewest_cells=fewest,
    )


def _missing(positions: dict[str, int]) -> tuple[str, ...]:
    """The required columns that do not stand; a share may be given in percent, in parts or in two columns."""
    gone = [name for name in _MUST_STAND if name not in positions]
    has_share = any(name in positions for name in _SHARE_COLUMNS)
    if not has_share and not all(name in positions for name in _PARTS_COLUMNS):
        gone.append("component_share")
    return tuple(gone)

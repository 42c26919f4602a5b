"""The heading line: which column stands where, which unit its heading names, what is unknown, missing or double.

Letter case, spaces, underscores, hyphens and order make no difference. A unit may follow the name
(`drain_time_s`, `poured cups`) or stand in brackets behind it (`drain time (min)`, `pot_volume [ml]`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import NamedTuple

from pipeline.intake.brackets import Said, form_in_heading, read_bracket, unit_in_heading
from pipeline.intake.characters import fold
from schemas.column import Column
from schemas.kinds.kind import SheetKind
from schemas.units import AmbiguousUnit, Unit

MOST_COLUMNS = 500

_BETWEEN = re.compile(r"[\s_\-]+")
_BRACKETED = re.compile(r"([^(\[{]+)[(\[{]([^()\[\]{}]*)[)\]}]?\Z")


class Heading(NamedTuple):
    """One heading that names a column: the column, and what it says beside the name."""

    column: str
    says: Said = Said()

    @property
    def unit(self) -> Unit | AmbiguousUnit | None:
        """The unit that it names."""
        return self.says.unit


@dataclass(frozen=True)
class Headings:
    """The heading line read. `positions`: where each known column stands (its first place, if twice);
    `says`: what each heading says beside the name;
    `unknown`: position and text of headings that name no column; `unnamed`: positions without a heading."""

    width: int
    positions: dict[str, int]
    says: dict[str, Said]
    unknown: tuple[tuple[int, str], ...]
    unnamed: tuple[int, ...]
    twice: tuple[tuple[str, str, str], ...]
    missing: tuple[str, ...]
    fewest_cells: int = field(default=0)

    @property
    def complete(self) -> bool:
        """Whether every required column stands once."""
        return not self.missing and not self.twice


@cache
def _columns_by_key(kind: SheetKind) -> dict[str, Column]:
    """The kind's columns by each heading that names them, spaces, underscores and hyphens left out."""
    keys: dict[str, Column] = {}
    for column in kind.columns:
        for spellings in column.spellings.values():
            keys.update({_BETWEEN.sub("", fold(spelling).casefold()): column for spelling in spellings})
    return {**keys, **{_BETWEEN.sub("", column.name): column for column in kind.columns}}


@lru_cache(maxsize=4096)
def read_heading(text: str, kind: SheetKind) -> Heading | None:
    """The column of that kind of sheet that one heading names; None where it names none."""
    plain = fold(text).casefold()
    key = _BETWEEN.sub("", plain)
    keys = _columns_by_key(kind)
    if key in keys:
        return Heading(keys[key].name)
    bracketed = _BRACKETED.match(plain)
    if bracketed:
        column = keys.get(_BETWEEN.sub("", bracketed[1]))
        if column is not None:
            return Heading(column.name, read_bracket(bracketed[2], column))
    return _with_unit_behind(plain, key, keys)


def _with_unit_behind(plain: str, key: str, keys: Mapping[str, Column]) -> Heading | None:
    """A name with a unit behind it, no brackets: `drain_time_s`, `poured fl oz`, `drain time in s`."""
    for name, column in sorted(keys.items(), key=lambda item: -len(item[0])):
        rest = key[len(name) :]
        if not key.startswith(name) or not rest:
            continue
        if rest == "s" and not re.search(r"[\s_\-]s\Z", plain):
            return Heading(column.name)  # `DrainTimes` is a plural; only `drain_time_s` names seconds
        rest = rest.strip(",;:./")
        unit = unit_in_heading(rest, column)
        if unit is None and rest.startswith("in"):
            unit = unit_in_heading(rest[2:], column)
        if unit is not None:
            return Heading(column.name, Said(unit))
        form = form_in_heading(rest, column)
        if form:
            return Heading(column.name, Said(form=form))
    return None


def count_known(cells: Sequence[str], kind: SheetKind) -> int:
    """How many different columns of that kind of sheet a line's cells name."""
    filled = [cell for cell in cells if cell and not cell.isspace()]
    if len(cells) < 2 or len(filled) > MOST_COLUMNS:
        return 0
    found = (read_heading(cell, kind) for cell in filled if len(cell) <= 80)
    return len({heading.column for heading in found if heading is not None})


def read_headings(cells: Sequence[str], kind: SheetKind) -> Headings:
    """The heading line of a sheet of that kind, cell by cell."""
    positions: dict[str, int] = {}
    says: dict[str, Said] = {}
    unknown: list[tuple[int, str]] = []
    unnamed: list[int] = []
    twice: list[tuple[str, str, str]] = []
    for position, cell in enumerate(cells):
        text = fold(cell)
        heading = read_heading(cell, kind) if len(cell) <= 80 else None
        if not text:
            unnamed.append(position)
        elif heading is None:
            unknown.append((position, text))
        elif heading.column in positions:
            twice.append((heading.column, fold(cells[positions[heading.column]]), text))
        else:
            positions[heading.column] = position
            says[heading.column] = heading.says
    fewest = max((positions[name] + 1 for name in kind.must_stand if name in positions), default=0)
    return Headings(
        width=len(cells),
        positions=positions,
        says=says,
        unknown=tuple(unknown),
        unnamed=tuple(unnamed),
        twice=tuple(twice),
        missing=_missing(positions, kind),
        fewest_cells=fewest,
    )


def _missing(positions: dict[str, int], kind: SheetKind) -> tuple[str, ...]:
    """The required columns that do not stand; where one of several ways is enough, the first one's."""
    gone = [name for name in kind.must_stand if name not in positions]
    if kind.one_of and not any(all(name in positions for name in way) for way in kind.one_of):
        gone.extend(kind.one_of[0])
    return tuple(gone)

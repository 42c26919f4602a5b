"""The heading line: which column stands where, which unit its heading names, what is unknown, missing or double.

Order makes no difference, nor what `heading_names` leaves out. A unit may follow the name (`drain_time_s`,
`poured cups`) or stand in brackets behind it (`drain time (min)`, `pot_volume [ml]`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

from pipeline.intake.cells.brackets import Said, form_in_heading, read_bracket, unit_in_heading
from pipeline.intake.characters import fold
from pipeline.intake.files.heading_names import (
    NamedBy,
    NamedColumn,
    heading_key,
    key_of_plain,
    named_columns,
    plain,
    proposed,
)
from schemas.column import Column, OwnHeadings
from schemas.kinds.kind import SheetKind
from schemas.units import AmbiguousUnit, Unit

MOST_COLUMNS = 500
LONGEST_HEADING = 80

_BETWEEN = re.compile(r"[\s_\-]+")
_BRACKETED = re.compile(r"([^(\[{]+)[(\[{]([^()\[\]{}]*)[)\]}]?\Z")


class Heading(NamedTuple):
    """One heading that names a column: the column, what it says beside the name, and what it names the column by: the
    column's own name, a further spelling, or what the member said of own headings."""

    column: str
    says: Said = Said()
    named_by: NamedBy = "name"

    @property
    def unit(self) -> Unit | AmbiguousUnit | None:
        """The unit that it names."""
        return self.says.unit


@dataclass(frozen=True)
class Headings:
    """The heading line read. `positions`: where each known column stands (its first place, if twice);
    `says`: what each heading says beside the name;
    `unknown`: position and text of headings that name no column, with the columns that may be meant; `unnamed`:
    positions without a heading; `understood`: headings other than a column's own name, with that column;
    `own`: what the member said of own headings; where that is something, `keys` has the key of every heading."""

    width: int
    positions: dict[str, int]
    says: dict[str, Said]
    unknown: tuple[tuple[int, str, tuple[str, ...]], ...]
    unnamed: tuple[int, ...]
    twice: tuple[tuple[str, str, str], ...]
    missing: tuple[str, ...]
    fewest_cells: int = field(default=0)
    understood: tuple[tuple[str, str], ...] = ()
    own: OwnHeadings = ()
    keys: frozenset[str] = frozenset()

    @property
    def complete(self) -> bool:
        """Whether every required column stands once."""
        return not self.missing and not self.twice


@lru_cache(maxsize=4096)
def read_heading(text: str, kind: SheetKind, own: OwnHeadings = ()) -> Heading | None:
    """The column of that kind of sheet that one heading names; None where it names none. What the member said of
    `own` headings goes first."""
    mapped = _as_member_said(text, kind, own) if own else None
    return mapped or _by_its_words(text, kind)


def _as_member_said(text: str, kind: SheetKind, own: OwnHeadings) -> Heading | None:
    """The column that the member gave for a heading, with the unit of either."""
    key = heading_key(text)
    meant = next((column for heading, column in own if heading_key(heading) == key), None)
    named = None if meant is None else _by_its_words(meant, kind)
    if named is None:
        return None
    says = named.says if named.says != Said() else _said_beside(text, kind.by_name[named.column])
    return Heading(named.column, says, "member")


def _said_beside(text: str, column: Column) -> Said:
    """What an own heading says in brackets or by its last words: the unit of `Zeit (min)` and of `Zeit in min`."""
    folded = fold(text).casefold()
    bracketed = _BRACKETED.match(folded)
    if bracketed:
        return read_bracket(bracketed[2], column)
    words = [word for word in _BETWEEN.split(folded) if word]
    for count in (2, 1):
        last = " ".join(words[-count:]) if len(words) > count else ""
        unit, form = unit_in_heading(last, column), form_in_heading(last, column)
        if unit is not None or form:
            return Said(unit, form)
    return Said()


def _by_its_words(text: str, kind: SheetKind) -> Heading | None:
    """The column that a heading names by its own words."""
    names = named_columns(kind)
    named = names.get(heading_key(text))
    if named is not None:
        return Heading(named.column.name, named_by=named.named_by)
    bracketed = _BRACKETED.match(fold(text).casefold())
    if bracketed:
        named = names.get(heading_key(bracketed[1]))
        if named is not None:
            says = read_bracket(bracketed[2], named.column)
            return Heading(named.column.name, says, named.named_by)
    return _with_unit_behind(plain(text), names)


def _with_unit_behind(text: str, names: Mapping[str, NamedColumn]) -> Heading | None:
    """A name with a unit behind it, no brackets: `drain_time_s`, `poured fl oz`, `drain time in s`."""
    closed = _BETWEEN.sub("", text)
    for end in range(len(closed) - 1, 1, -1):
        named = names.get(key_of_plain(closed[:end]))
        if named is None:
            continue
        says = _said_behind(closed[end:], text, named.column)
        if says is not None:
            return Heading(named.column.name, says, named.named_by)
    return None


def _said_behind(rest: str, text: str, column: Column) -> Said | None:
    """What the rest of a heading says behind the column's name; None where it is not understood."""
    if rest == "s" and not re.search(r"[\s_\-]s\Z", text):
        return Said()  # `DrainTimes` is a plural; only `drain_time_s` names seconds
    rest = rest.strip(",;:./")
    unit = unit_in_heading(rest, column)
    if unit is None and rest.startswith("in"):
        unit = unit_in_heading(rest[2:], column)
    if unit is not None:
        return Said(unit)
    form = form_in_heading(rest, column)
    return Said(form=form) if form else None


def count_known(cells: Sequence[str], kind: SheetKind, own: OwnHeadings = ()) -> int:
    """How many different columns of that kind of sheet a line's cells name."""
    filled = [cell for cell in cells if cell and not cell.isspace()]
    if len(cells) < 2 or len(filled) > MOST_COLUMNS:
        return 0
    found = (read_heading(cell, kind, own) for cell in filled if len(cell) <= LONGEST_HEADING)
    return len({heading.column for heading in found if heading is not None})


def read_headings(cells: Sequence[str], kind: SheetKind, own: OwnHeadings = ()) -> Headings:
    """The heading line of a sheet of that kind, cell by cell. A column that stands under its own name, or under the
    heading that the member gave for it, is not looked for under further spellings."""
    read = [read_heading(cell, kind, own) if len(cell) <= LONGEST_HEADING else None for cell in cells]
    certain = {heading.column for heading in read if heading is not None and heading.named_by != "spelling"}
    places = _Places(cells)
    for position, heading in enumerate(read):
        if heading is not None and (heading.named_by != "spelling" or heading.column not in certain):
            places.name(position, heading)
        else:
            places.leave(position)
    positions = places.positions
    fewest = max((positions[name] + 1 for name in kind.must_stand if name in positions), default=0)
    return Headings(
        width=len(cells),
        positions=positions,
        says=places.says,
        unknown=tuple((at, text, proposed(text, kind, positions)) for at, text in places.unknown),
        unnamed=tuple(places.unnamed),
        twice=tuple(places.twice),
        missing=_missing(positions, kind),
        fewest_cells=fewest,
        understood=tuple(places.understood),
        own=own,
        keys=frozenset(map(heading_key, cells)) if own else frozenset(),
    )


class _Places:
    """What stands where in a heading line, gathered cell by cell."""

    def __init__(self, cells: Sequence[str]) -> None:
        self.texts = [fold(cell) for cell in cells]
        self.positions: dict[str, int] = {}
        self.says: dict[str, Said] = {}
        self.unknown: list[tuple[int, str]] = []
        self.unnamed: list[int] = []
        self.twice: list[tuple[str, str, str]] = []
        self.understood: list[tuple[str, str]] = []

    def name(self, position: int, heading: Heading) -> None:
        """The cell at that position names a column."""
        if heading.column in self.positions:
            first = self.texts[self.positions[heading.column]]
            self.twice.append((heading.column, first, self.texts[position]))
            return
        self.positions[heading.column] = position
        self.says[heading.column] = heading.says
        if heading.named_by != "name":
            self.understood.append((self.texts[position], heading.column))

    def leave(self, position: int) -> None:
        """The cell at that position names no column."""
        if self.texts[position]:
            self.unknown.append((position, self.texts[position]))
        else:
            self.unnamed.append(position)


def _missing(positions: dict[str, int], kind: SheetKind) -> tuple[str, ...]:
    """The required columns that do not stand; where one of several ways is enough, the first one's."""
    gone = [name for name in kind.must_stand if name not in positions]
    if kind.one_of and not any(all(name in positions for name in way) for way in kind.one_of):
        gone.extend(kind.one_of[0])
    return tuple(gone)

"""One record per column: everything that the stages know of it. What a sheet may hold, and what the pool keeps of it.

A `Column` is what a member may fill in; its `kept` is the column of an accepted row, in canonical name and unit,
that its cells become. Columns that no member fills in are `Derived`. A sheet's kind (`schemas.kinds`) lists them;
headings, readers, limits, frame types, store tables, form, blank sheet, dictionary and downloads are made from it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from schemas.units import UnitKind

Language = Literal["en", "de", "fr", "nl", "es"]
ValueKind = Literal[
    "code",
    "label",
    "text",
    "date",
    "choice",
    "climate",
    "count",
    "share",
    "parts",
    "one part",
    "volume",
    "pot volume",
    "clock time",
    "span",
    "age",
    "length",
    "temperature",
]
"""What a cell holds; each kind has one reader in intake."""
UNIT_KINDS: Mapping[ValueKind, UnitKind] = {
    "share": "share",
    "volume": "volume",
    "pot volume": "volume",
    "clock time": "time",
    "span": "span",
    "age": "age",
    "length": "length",
    "temperature": "temperature",
}
"""The kind of unit that a cell or heading may carry, where it may carry one."""
NUMBER_KINDS: frozenset[ValueKind] = frozenset({"count", "parts", "one part", *UNIT_KINDS})
"""What has a decimal mark."""
OwnHeadings = tuple[tuple[str, str], ...]
"""A member's own headings, each with the column that it stands for, perhaps with a unit: `drain_time (min)`."""
FrameType = Literal["text", "date", "number", "whole", "flag"]
Required = Literal["yes", "no", "one of two", "may be blank"]
InSeries = Literal["held", "advice", "no"]
FormPlace = Literal["once", "each pour", ""]
MadeIn = Literal["intake", "check"]


@dataclass(frozen=True)
class Limits:
    """Smallest and largest value of a number column; `above` where the smallest itself is not allowed."""

    low: float
    high: float | None = None
    above: bool = False

    def words(self, unit: str) -> str:
        """The limits as a receipt states them, such as `a number from 20 to 500000 ml`."""
        start = f"above {self.low:g}" if self.above else f"from {self.low:g}"
        end = "" if self.high is None else f" to {self.high:g}"
        return f"a number {start}{end} {unit}".strip()


@dataclass(frozen=True)
class Pattern:
    """What the whole text of a column must look like, and the same in words."""

    regex: str
    words: str


@dataclass(frozen=True)
class Kept:
    """One column of an accepted row, in canonical name and unit.

    `nullable`: may be blank in the pool. `limits`, `pattern`, `length` (fewest and most characters): what a
    value must keep. `published`: stands in pool.csv. `since`: the store version
    that first had it.
    """

    name: str
    frame: FrameType
    nullable: bool
    unit: str
    meaning: str
    limits: Limits | None = None
    pattern: Pattern | None = None
    length: tuple[int, int] | None = None
    published: bool = True
    since: int = 1


@dataclass(frozen=True)
class Column:
    """One column that a member may fill in.

    `required`: "yes", "no", "one of two" (one way of several to give the same thing) or "may be blank" (the
    column must be there, its cells may be blank in stated cases). `kept`: what its cells become; None where
    they become part of the column named in `into`.

    `choices`: its vocabulary in `schemas.vocabulary`. `spellings`: further headings that name it, by language. `when_blank`: the value that a blank cell means.
    `not_given`: the word that says that the value is not known. `same_in_series`: whether a change inside a
    series holds the row, gets advice, or nothing; `same_within`: kept columns that must agree as well before
    two rows are compared. `takes_series_own`: a blank cell takes the value of the series. `same_run_may_differ`:
    two rows are the same run though this differs. `when_asked`: what a receipt asks for where a required cell is blank; "" for its example. `longest`: the longest length that is believed, in the kept unit. `form`: whether the bench form has it, once or for each
    pour, `asked` in which words, and `form_units` what it offers beside it. `blank_sheet`: stands in the blank sheet.
    """

    name: str
    required: Required
    kind: ValueKind
    meaning: str
    kept: Kept | None = None
    into: str = ""
    choices: str | None = None
    example: str = ""
    spellings: Mapping[Language, tuple[str, ...]] = field(default_factory=dict)
    when_blank: str | None = None
    not_given: str | None = None
    same_in_series: InSeries = "no"
    same_within: tuple[str, ...] = ()
    takes_series_own: bool = False
    same_run_may_differ: bool = False
    when_asked: str = ""
    longest: int | None = None
    form: FormPlace = ""
    asked: str = ""
    form_units: tuple[str, ...] = ()
    blank_sheet: bool = True

    @property
    def unit_kind(self) -> UnitKind | None:
        """The kind of unit that its cells may carry; None where they carry none."""
        return UNIT_KINDS.get(self.kind)

    @property
    def becomes(self) -> str:
        """Name of the kept column that its cells become, or become part of."""
        return self.kept.name if self.kept is not None else self.into


@dataclass(frozen=True)
class Derived:
    """One column of an accepted row that no member fills in.

    `after`: the kept column behind which it stands; "" for the end. `made_in`: the stage that makes it.
    `key_of`: the sheet column whose label key it holds; "" where it is something else.
    """

    kept: Kept
    made_in: MadeIn
    after: str = ""
    key_of: str = ""

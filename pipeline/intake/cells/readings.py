"""What reading one cell comes to: a value, or what is to be said about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from schemas.units import AmbiguousUnit, Unit

Value = float | int | str | date | None


class Reading(NamedTuple):
    """`value` is what the pool keeps (None where the cell can't be read); `rule` and `details` name a problem
    of the catalogue; `mark` is something that the file as a whole is judged by later."""

    value: Value
    rule: str | None = None
    details: Mapping[str, str] = {}
    mark: str | None = None


class Fault(NamedTuple):
    """Why a part of a cell can't be read: a rule of the catalogue and what fills its sentence."""

    rule: str
    details: Mapping[str, str]

    def reading(self) -> Reading:
        """The fault as the outcome of the whole cell."""
        return Reading(None, self.rule, self.details)


@dataclass(frozen=True)
class Setting:
    """What a cell's column and file say about how to read it.

    `heading_unit`: the unit that the heading names. `decimal_mark`: "." or "," where the file settles it, else
    "". `date_order`: how the file's slashed dates are read ("day first", "month first", "both", "open").
    `kept_per`: how many ml, s or mm make one of the unit in which the pool keeps the column.
    `choices`: the column's vocabulary, "" where it has none. `heading_form`: the form of time or order of parts that
    the heading names, `unread_heading`: what of it is not understood. `letters_guessed`: the file's letters were guessed.
    `longest`: the longest length that is believed, in the kept unit.
    """

    column: str
    heading_unit: Unit | AmbiguousUnit | None = None
    decimal_mark: str = ""
    date_order: str = "open"
    kept_per: int = 1
    choices: str = ""
    heading_form: str = ""
    unread_heading: str = ""
    letters_guessed: bool = False
    longest: int | None = None

"""What a heading says in brackets: a unit, a form of time, the order of parts or of dates. It is used, or the column
is held: `parts (perlite:peat)`, `tested_on (DD/MM/YYYY)`, `drain_time (hh:mm)`, but not `component_share (% by weight)`.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from pipeline.intake.cells.dates import DAY_FIRST, MONTH_FIRST
from schemas.column import Column
from schemas.units import AmbiguousUnit, Unit, find_unit_in_heading
from schemas.vocabulary import match_choice

HOURS_AND_MINUTES, OTHER_CLOCK = "hours and minutes", "clock"
COMPONENT_FIRST, BASE_FIRST = "component first", "base first"

_REMARKS = frozenset(
    [
        "optional",
        "required",
        "if known",
        "where known",
        "day",
        "date",
        "day of test",
        "by volume",
        "volume",
        "vol",
        "v/v",
        "inside",
        "inner",
    ]
)
"""Remarks that change nothing of how a cell is read."""
_HOURS, _MINUTES, _SECONDS = (
    r"(?:h{1,2}|hours?|hrs?)",
    r"(?:m{1,2}|mins?|minutes?)",
    r"(?:s{1,2}|secs?|seconds?)",
)
_BETWEEN = r"(?: ?[:.] ?| and | )"
_HOURS_MINUTES = re.compile(rf"{_HOURS}{_BETWEEN}{_MINUTES}\Z")
_OTHER_CLOCK = re.compile(rf"(?:{_HOURS}{_BETWEEN})?{_MINUTES}{_BETWEEN}{_SECONDS}(?:\.0+)?\Z")
_DATE_LETTERS = re.compile(r"([a-z]{1,4})[-/. ]([a-z]{1,4})[-/. ]([a-z]{2,4})\Z")
_DIVIDER = re.compile(r" ?(?:[:+/,]|\bto\b|\band\b) ?")
_CHANGES_NOTHING = ("code", "label", "text", "choice", "climate")


class Said(NamedTuple):
    """What a heading says beside its name. `form`: a form of time, or an order of parts or dates; `unread`: text
    that is not understood, which holds the column."""

    unit: Unit | AmbiguousUnit | None = None
    form: str = ""
    unread: str = ""


def read_bracket(text: str, column: Column) -> Said:
    """What the bracket behind a column's name says; `text` is folded and in small letters."""
    plain = " ".join(text.strip(" .:").split())
    if not plain or column.kind in _CHANGES_NOTHING:
        return Said()
    unit = unit_in_heading(plain, column)
    if unit is not None:
        return Said(unit)
    if plain in _REMARKS:
        return Said()
    form = form_in_heading(plain, column)
    return Said(form=form) if form else Said(unread=plain)


def unit_in_heading(text: str, column: Column) -> Unit | AmbiguousUnit | None:
    """The unit that a piece of a heading names; None where it names none for that column."""
    kind = column.unit_kind
    return find_unit_in_heading(text, kind) if kind and text.strip() else None


def form_in_heading(text: str, column: Column) -> str:
    """A form of time, or an order of parts or dates, that a piece of a heading names; "" where it names none."""
    if column.kind == "clock time":
        if _HOURS_MINUTES.match(text):
            return HOURS_AND_MINUTES
        return OTHER_CLOCK if _OTHER_CLOCK.match(text) else ""
    if column.kind == "parts":
        return _order_of_parts(text)
    return _order_of_dates(text) if column.kind == "date" else ""


def _order_of_parts(text: str) -> str:
    words = _DIVIDER.split(text)
    if text == BASE_FIRST or len(words) != 2:
        return BASE_FIRST if text == BASE_FIRST else COMPONENT_FIRST if text == COMPONENT_FIRST else ""
    order = tuple(map(_side, words))
    return (
        BASE_FIRST
        if order == ("base", "component")
        else COMPONENT_FIRST
        if order == ("component", "base")
        else ""
    )


def _side(word: str) -> str:
    """Whether a word names the base or the component: `peat`, `perlite`; "" for neither."""
    if word in ("base", "peat", "sphagnum", "torf", "tourbe", "veen", "turba"):
        return "base"
    if word in ("component", "mineral", "sand", "bark"):
        return "component"
    for side in ("base", "component"):
        if match_choice(side, word) not in (None, "other"):
            return side
    return ""


def _order_of_dates(text: str) -> str:
    """The order of `dd/mm/yyyy`, `TT.MM.JJJJ`, `jj/mm/aaaa`; "year first" settles nothing about slashes."""
    letters = _DATE_LETTERS.match(text)
    if not letters:
        return ""
    first, second, third = letters.groups()
    if len(first) == 4 and second in ("m", "mm") and third in ("dd", "tt", "jj"):
        return "year first"
    if first in ("d", "dd", "t", "tt", "j", "jj") and second in ("m", "mm"):
        return DAY_FIRST
    return MONTH_FIRST if first in ("m", "mm") and second in ("d", "dd", "t", "tt", "j", "jj") else ""

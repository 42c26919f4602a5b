"""Days of test: `2026-03-14`, `14.3.2026`, and slashed dates in the order that their file settles."""

from __future__ import annotations

import re
from datetime import date

from pipeline.intake.cells.readings import Reading, Setting

EARLIEST_YEAR = 1980
DAY_FIRST, MONTH_FIRST, BOTH_ORDERS, OPEN_ORDER = "day first", "month first", "both", "open"

_NO_TIME = r"(?:[ T]0?0:00(?::00(?:\.0+)?)?)?\Z"
_YEAR_FIRST = re.compile(rf"([0-9]{{4}})-([0-9]{{1,2}})-([0-9]{{1,2}}){_NO_TIME}")
_SHORT_YEAR = re.compile(r"([0-9]{1,2}([./-]) ?[0-9]{1,2}\2 ?)([0-9]{2})\Z")
_POINTED = re.compile(rf"([0-9]{{1,2}})\. ?([0-9]{{1,2}})\. ?([0-9]{{4}}){_NO_TIME}")
_SLASHED = re.compile(rf"([0-9]{{1,2}})/([0-9]{{1,2}})/([0-9]{{4}}){_NO_TIME}")


def slashed_order(text: str) -> str | None:
    """The order that one slashed date settles: "day first", "month first", or "" where it could be either or
    is no day at all; None for a cell that is no slashed date."""
    match = _SLASHED.match(text)
    if not match:
        return None
    first, second = int(match[1]), int(match[2])
    if 31 >= first > 12 >= second:
        return DAY_FIRST
    return MONTH_FIRST if 31 >= second > 12 >= first else ""


def read_date(text: str, setting: Setting) -> Reading:
    """The day of a folded cell. Not later than today is asked later, where today is known."""
    year_first = _YEAR_FIRST.match(text)
    if year_first:
        return _day(int(year_first[1]), int(year_first[2]), int(year_first[3]))
    pointed = _POINTED.match(text)
    if pointed:
        return _day(int(pointed[3]), int(pointed[2]), int(pointed[1]))
    slashed = _SLASHED.match(text)
    if slashed:
        return _slashed(int(slashed[1]), int(slashed[2]), int(slashed[3]), setting.date_order)
    short = _SHORT_YEAR.match(text)
    if short:
        century = 19 if int(short[3]) >= EARLIEST_YEAR % 100 else 20
        return Reading(
            None, "date_form", {"hint": f"The year needs four digits: {short[1]}{century}{short[3]}. "}
        )
    return Reading(None, "date_form", {"hint": ""})


def _slashed(first: int, second: int, year: int, order: str) -> Reading:
    if order == DAY_FIRST:
        return _day(year, second, first)
    if order == MONTH_FIRST:
        return _day(year, first, second)
    readings = [day for day in (_date(year, second, first), _date(year, first, second)) if day is not None]
    if not readings:
        return Reading(None, "date_form", {"hint": ""})
    either = " or ".join(dict.fromkeys(day.isoformat() for day in readings))
    return Reading(
        None, "date_orders_clash" if order == BOTH_ORDERS else "date_order_open", {"readings": either}
    )


def _date(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _day(year: int, month: int, day: int) -> Reading:
    found = _date(year, month, day)
    if found is None:
        return Reading(None, "date_form", {"hint": ""})
    if found.year < EARLIEST_YEAR:
        return Reading(None, "date_too_early", {"read": found.isoformat()})
    return Reading(found)

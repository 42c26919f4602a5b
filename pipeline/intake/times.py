"""Times as members write them: clock forms (`3:25`, `75:00`, `3:25.5`, `1:05:00`, `3'25"`) and times with units
(`205 s`, `3.5 min`, `1 h 5 min`, `3m25s`)."""

from __future__ import annotations

import re
from fractions import Fraction

from pipeline.intake.numbers import read_number
from pipeline.intake.quantities import KIND_WORDS, Quantity, number_fault, read_quantity, unit_of
from pipeline.intake.readings import Fault, Reading, Setting
from schemas.units import LONG_TIMES, Unit

ON_THE_HOUR = "h:mm:00"
WITH_SECONDS = "h:mm:ss"
"""Marks of times in three fields: a file whose times all end in :00 was changed by a spreadsheet."""

CLOCK_EXPECTED = "minutes and seconds, such as 3:25, or a number and a unit, such as 205 s or 3.5 min"

_MINUTES_SECONDS = re.compile(r"([0-9]{1,5}):([0-9]{2})(?:[.,]([0-9]{1,3}))?\Z")
_HOURS = re.compile(r"([0-9]{1,4}):([0-9]{2}):([0-9]{2})(?:[.,]([0-9]{1,3}))?\Z")
_PRIMES = re.compile(r"([0-9]{1,5}) ?' ?([0-9]{1,2})(?:[.,]([0-9]{1,3}))? ?(?:\"|'')\Z")
_LIKE_A_CLOCK = re.compile(r"[0-9]{1,5}(?::[0-9]{1,3}){1,2}(?:[.,][0-9]*)?\Z")
_POINT_FOR_COLON = re.compile(r"([0-9]{1,4})[.,]([0-5]?[0-9])\Z")
_COMPOUND = re.compile(
    r"(?:[0-9]+(?:[.,][0-9]+)? ?[a-z]+\.?,? ?)+[0-9]+(?:[.,][0-9]+)? ?[a-z]+\.?\Z", re.IGNORECASE
)
_PIECE = re.compile(r"([0-9]+(?:[.,][0-9]+)?) ?([a-z]+\.?)", re.IGNORECASE)


def read_clock_time(text: str, setting: Setting) -> Reading:
    """Seconds of a folded cell; a bare number only where the heading names its unit. The mark tells whether it
    was written in three fields."""
    clock = _clock(text)
    if clock is not None:
        return clock
    return read_time(text, setting)


def read_time(text: str, setting: Setting) -> Reading:
    """The time of a folded cell that holds numbers with units, clock forms not read; in the unit that the pool
    keeps for its column."""
    found = _compound(text, setting) if _COMPOUND.match(text) else read_quantity(text, "time", setting)
    if isinstance(found, Fault):
        return _better_said(text, found, setting).reading()
    seconds = found.value if isinstance(found, Quantity) else found
    return _above_zero(seconds / setting.kept_per, None)


def _clock(text: str) -> Reading | None:
    """The reading of a clock form; None for anything else."""
    hours = _HOURS.match(text)
    if hours and int(hours[2]) < 60 and int(hours[3]) < 60:
        whole = int(hours[1]) * 3600 + int(hours[2]) * 60 + int(hours[3])
        part = _decimals(hours[4])
        mark = ON_THE_HOUR if int(hours[3]) == 0 and part == 0 else WITH_SECONDS
        return _above_zero(whole + part, mark)
    minutes = _MINUTES_SECONDS.match(text) or _PRIMES.match(text)
    if minutes and int(minutes[2]) < 60:
        return _above_zero(int(minutes[1]) * 60 + int(minutes[2]) + _decimals(minutes[3]), None)
    if minutes or _LIKE_A_CLOCK.match(text):
        return Reading(None, "time_fields", {})
    return None


def _decimals(digits: str | None) -> Fraction:
    return Fraction(int(digits), 10 ** len(digits)) if digits else Fraction(0)


def _above_zero(seconds: Fraction, mark: str | None) -> Reading:
    if seconds <= 0:
        return Reading(None, "not_above_zero", {"what": "a time"})
    return Reading(float(seconds), mark=mark)


def _compound(text: str, setting: Setting) -> Fraction | Fault:
    """The sum of pieces such as `1 h 5 min`: whole numbers but for the last, ever smaller units, each piece less
    than one of the unit before."""
    pieces = _PIECE.findall(text)
    total = Fraction(0)
    before: Unit | None = None
    for position, (number, spelling) in enumerate(pieces):
        unit = unit_of(spelling, number, "time", setting)
        if isinstance(unit, Fault):
            return unit
        value = read_number(number, setting.decimal_mark)
        if isinstance(value, Fault):
            return number_fault(value, "time")
        seconds = unit.to_base(value)
        whole = value.denominator == 1 or position == len(pieces) - 1
        if not whole or (before is not None and (unit.factor >= before.factor or seconds >= before.factor)):
            return Fault("number_form", {"what": "a time", "expected": KIND_WORDS["time"][1]})
        total += seconds
        before = unit
    return total


def _better_said(text: str, fault: Fault, setting: Setting) -> Fault:
    """A fault with the hint that fits a time: `1.30` may be meant as 1:30."""
    if setting.column in LONG_TIMES:
        return fault
    if ":" in text:
        return Fault("time_fields", {})
    if fault.rule == "unit_missing":
        point = _POINT_FOR_COLON.match(text)
        if point:
            seconds = point[2] if len(point[2]) == 2 else f"0{point[2]} or {point[1]}:{point[2]}0"
            return Fault(
                "time_with_point", {"clock": f"{point[1]}:{seconds}", "minutes": f"{point[1]}.{point[2]}"}
            )
        return Fault("time_unit_missing", {"number": text})
    if fault.rule == "number_form":
        return Fault(fault.rule, {**fault.details, "expected": CLOCK_EXPECTED})
    return fault

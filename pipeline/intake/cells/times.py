"""Times as members write them: clock forms (`3:25`, `75:00`, `3:25.5`, `1:05:00`, `3'25"`) and times with units
(`205 s`, `3.5 min`, `1 h 5 min`, `3m25s`)."""

from __future__ import annotations

import re
from fractions import Fraction

from pipeline.intake.cells.brackets import HOURS_AND_MINUTES
from pipeline.intake.cells.numbers import read_number
from pipeline.intake.cells.quantities import KIND_WORDS, Quantity, number_fault, read_quantity, unit_of
from pipeline.intake.cells.readings import Fault, Reading, Setting
from schemas.trade.amounts import duration_in_words
from schemas.units import Unit, UnitKind

CLOCK_EXPECTED = "minutes and seconds, such as 3:25, or a number and a unit, such as 205 s or 3.5 min"

_MINUTES_SECONDS = re.compile(r"([0-9]{1,5}):([0-9]{2})(?:[.,]([0-9]{1,3}))?\Z")
_HOURS = re.compile(r"([0-9]{1,4}):([0-9]{2}):([0-9]{2})(?:[.,]([0-9]{1,3}))?\Z")
_PRIMES = re.compile(r"([0-9]{1,5}) ?' ?([0-9]{1,2})(?:[.,]([0-9]{1,3}))? ?(?:\"|'')\Z")
_TIME_OF_DAY = re.compile(
    r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2}))?(?:[.,]0+)? ?([ap])\.?m\.?\Z", re.IGNORECASE
)
_DECIMAL_MINUTES = re.compile(r"[0-9]+[.,][0-9]+")
_LIKE_A_CLOCK = re.compile(r"[0-9]{1,5}(?::[0-9]{1,3}){1,2}(?:[.,][0-9]*)?\Z")
_POINT_FOR_COLON = re.compile(r"([0-9]{1,4})[.,]([0-5]?[0-9])\Z")
_COMPOUND = re.compile(
    r"(?:[0-9]+(?:[.,][0-9]+)? ?[a-z]+\.?,? ?)+[0-9]+(?:[.,][0-9]+)? ?[a-z]+\.?\Z", re.IGNORECASE
)
_BARE_SECONDS = re.compile(r"([0-9]{1,4}) ?(?:m|mins?|minutes?)\.?,? ?([0-9]{1,2})\Z", re.IGNORECASE)
_PIECE = re.compile(r"([0-9]+(?:[.,][0-9]+)?) ?([a-z]+\.?)", re.IGNORECASE)


def read_clock_time(text: str, setting: Setting) -> Reading:
    """Seconds of a folded cell; a bare number only where the heading names its unit. A time of three fields that
    ends in :00 is held: a spreadsheet makes 3:25:00 of 3:25."""
    if setting.heading_form == HOURS_AND_MINUTES:
        fields = _MINUTES_SECONDS.match(text)
        if fields and int(fields[2]) < 60:
            return Reading(None, "time_under_hours", _both_lengths(int(fields[1]), int(fields[2])))
    return (
        _three_fields(text) or _time_of_day(text) or _two_fields(text) or _with_units(text, setting, "time")
    )


def read_span(text: str, setting: Setting) -> Reading:
    """The time of a folded cell in seconds up to years, clock forms not read; in the unit that the pool keeps for its
    column."""
    return _with_units(text, setting, "span")


def read_age(text: str, setting: Setting) -> Reading:
    """As `read_span`, but `m` alone, which may be minutes or months, is held."""
    return _with_units(text, setting, "age")


def _with_units(text: str, setting: Setting, kind: UnitKind) -> Reading:
    """The sum of a cell's numbers with units. The mark is a number of minutes with decimals, as typed."""
    amount = _compound(text, setting, kind) if _COMPOUND.match(text) else read_quantity(text, kind, setting)
    if isinstance(amount, Fault):
        return (_better_said(text, amount) if kind == "time" else amount).reading()
    if not isinstance(amount, Quantity):
        return _above_zero(amount / setting.kept_per)
    decimals = _DECIMAL_MINUTES.match(text) if amount.unit.name == "min" else None
    return _above_zero(amount.value / setting.kept_per, decimals[0] if decimals else None)


def _three_fields(text: str) -> Reading | None:
    """The reading of h:mm:ss; None for anything else."""
    fields = _HOURS.match(text)
    if fields is None or int(fields[2]) >= 60 or int(fields[3]) >= 60:
        return None
    first, second, third, part = int(fields[1]), int(fields[2]), int(fields[3]), _decimals(fields[4])
    if third == 0 and part == 0 and (first or second):
        return Reading(None, "time_from_spreadsheet", _both_lengths(first, second))
    return _above_zero(Fraction(first * 3600 + second * 60 + third) + part)


def _both_lengths(first: int, second: int) -> dict[str, str]:
    """What `3:25:00` may mean: 3 min 25 s, which was typed, or 3 h 25 min, which it says."""
    return {
        "offer": duration_in_words(first * 60 + second),
        "literal": duration_in_words(first * 3600 + second * 60),
    }


def _time_of_day(text: str) -> Reading | None:
    """What is said about `3:25 AM`; None for anything else. Nobody types it: a spreadsheet made it of 3:25."""
    clock = _TIME_OF_DAY.match(text)
    if clock is None:
        return None
    hour, minute, second = (
        int(clock[1]) % 12 + (12 if clock[4] in "pP" else 0),
        int(clock[2]),
        int(clock[3] or 0),
    )
    typed_seconds = hour * 3600 + minute * 60 + second if second else hour * 60 + minute
    return Reading(None, "time_of_day", {"offer": duration_in_words(typed_seconds)})


def _two_fields(text: str) -> Reading | None:
    """The reading of `3:25` and `3'25"`; None for what is no clock form."""
    minutes = _MINUTES_SECONDS.match(text) or _PRIMES.match(text)
    if minutes and int(minutes[2]) < 60:
        return _above_zero(int(minutes[1]) * 60 + int(minutes[2]) + _decimals(minutes[3]))
    if minutes or _LIKE_A_CLOCK.match(text):
        return Reading(None, "time_fields", {})
    return None


def _decimals(digits: str | None) -> Fraction:
    return Fraction(int(digits), 10 ** len(digits)) if digits else Fraction(0)


def _above_zero(seconds: Fraction, mark: str | None = None) -> Reading:
    if seconds <= 0:
        return Reading(None, "not_above_zero", {"what": "a time"})
    return Reading(float(seconds), mark=mark)


def _compound(text: str, setting: Setting, kind: UnitKind) -> Fraction | Fault:
    """The sum of pieces such as `1 h 5 min`: whole numbers but for the last, ever smaller units, each piece less
    than one of the unit before."""
    pieces = _PIECE.findall(text)
    total = Fraction(0)
    before: Unit | None = None
    for position, (number, spelling) in enumerate(pieces):
        unit = unit_of(spelling, number, kind, setting)
        if isinstance(unit, Fault):
            return unit
        value = read_number(number, setting.decimal_mark)
        if isinstance(value, Fault):
            return number_fault(value, kind)
        seconds = unit.to_base(value)
        whole = value.denominator == 1 or position == len(pieces) - 1
        if not whole or (before is not None and (unit.factor >= before.factor or seconds >= before.factor)):
            return Fault("number_form", {"what": "a time", "expected": KIND_WORDS[kind][1]})
        total += seconds
        before = unit
    return total


def _better_said(text: str, fault: Fault) -> Fault:
    """A fault with the hint that fits a time: `1.30` may be meant as 1:30."""
    if ":" in text:
        return Fault("time_fields", {})
    bare_seconds = _BARE_SECONDS.match(text)
    if bare_seconds and int(bare_seconds[2]) < 60:
        whole, rest = int(bare_seconds[1]), int(bare_seconds[2])
        expected = f"{whole}:{rest:02d} or {whole} min {rest} s"
        return Fault("number_form", {"what": "a time", "expected": expected})
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

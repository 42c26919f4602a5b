"""The share of component: in percent (`40`, `40 %`) or in parts by volume, base first (`3:2`, `3+2`, `3 to 2`)."""

from __future__ import annotations

import re
from fractions import Fraction

from pipeline.intake.cells.brackets import COMPONENT_FIRST
from pipeline.intake.cells.numbers import has_fraction, read_number, without_fraction
from pipeline.intake.cells.quantities import is_date_like, number_fault, split_number
from pipeline.intake.cells.readings import Fault, Reading, Setting
from schemas.trade.parts import (
    PARTS_EXPECTED,
    TypedParts,
    is_more_than_two,
    is_padded,
    percent_of_parts,
    slashed_readings,
    split_parts,
)
from schemas.units import find_unit

_CLOCK = re.compile(r"([0-9]{1,3}):([0-9]{2})(?::([0-9]{2}))?(?: ?[ap]\.?m\.?)?\Z", re.IGNORECASE)
_DAY_MONTH = re.compile(r"([0-9]{1,2})[^0-9]+([0-9]{1,2})\b")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_GERMAN_MONTHS = {"mär": 3, "mrz": 3, "mai": 5, "okt": 10, "dez": 12}


def read_share(text: str, setting: Setting) -> Reading:
    """Percent of a folded cell, unrounded. A number between 0 and 1 is held: it looks like a fraction."""
    number, spelling = split_number(text)
    value = _percent(number, setting)
    parts = split_parts(text)
    if parts is not None and parts.divider != "/" and not parts.padded:
        return _parts_for_percent(parts, setting)
    if is_date_like(text):
        return number_fault(Fault("number_is_date", {}), "share").reading()
    if has_fraction(number):
        return Reading(None, "fraction_not_read", {"example": without_fraction(number)})
    if isinstance(value, Fault):
        return number_fault(value, "share").reading()
    if spelling and find_unit(spelling, "share") is None:
        return number_fault(Fault("number_form", {}), "share").reading()
    if 0 < value < 1:
        return Reading(None, "share_is_fraction", {"percent": f"{float(100 * value):g}"})
    if not 0 <= value <= 100:
        return Reading(None, "share_outside", {})
    return Reading(float(value))


def _parts_for_percent(parts: TypedParts, setting: Setting) -> Reading:
    """What is said about parts where percent are asked for."""
    read = _read_both(parts, setting)
    if not isinstance(read.value, float):
        return read
    details = {"percent": f"{round(read.value, 1):g}", "parts": f"{parts.first}+{parts.second}"}
    return Reading(None, "share_is_parts", details)


def _percent(number: str, setting: Setting) -> Fraction | Fault:
    """The number of a share. `33.333` has one reading only: a share can't be thirty-three thousand."""
    value = read_number(number, setting.decimal_mark)
    if isinstance(value, Fault) and value.rule == "decimal_mark_open":
        small = read_number(value.details["small"], ".")
        large = int(value.details["large"])
        return small if large > 100 else value
    return value


def read_parts(text: str, setting: Setting) -> Reading:
    """Percent of component of a folded cell of parts, unrounded. Parts that a spreadsheet made into a time or a
    date are held with an offer that no spreadsheet changes; parts with a slash with both orders."""
    changed = _changed_by_spreadsheet(text)
    if changed is not None:
        return changed
    parts = split_parts(text)
    if parts is None:
        rule = "parts_three" if is_more_than_two(text) else "parts_form"
        expected = "straight base as 1+0" if text == "0" else PARTS_EXPECTED
        return Reading(None, rule, {"expected": expected})
    if parts.padded:
        return Reading(None, "parts_form", {"expected": f"{PARTS_EXPECTED}, without a zero in front"})
    if parts.divider == "/":
        return Reading(
            None,
            "parts_slashed",
            {
                "readings": slashed_readings(
                    parts.first, parts.second, setting.heading_form == COMPONENT_FIRST
                )
            },
        )
    return _read_both(parts, setting)


def _read_both(parts: TypedParts, setting: Setting) -> Reading:
    numbers: list[Fraction] = []
    for text in (parts.first, parts.second):
        number = read_number(text, setting.decimal_mark)
        if isinstance(number, Fault):
            return Reading(None, number.rule, {"what": "parts", "expected": PARTS_EXPECTED, **number.details})
        numbers.append(number)
    base, component = reversed(numbers) if setting.heading_form == COMPONENT_FIRST else numbers
    if base + component == 0:
        return Reading(None, "parts_of_nothing", {})
    return Reading(float(percent_of_parts(base, component)))


def read_one_part(text: str, setting: Setting) -> Reading:
    """Parts of one side where base and component stand in two columns: a bare number, 0 or more."""
    expected = {"what": "parts", "expected": "a bare number, such as 3 or 0.5"}
    if is_date_like(text):
        return Reading(None, "number_is_date", expected)
    if has_fraction(text):
        return Reading(None, "fraction_not_read", {"example": without_fraction(text)})
    value = read_number(text, setting.decimal_mark)
    if isinstance(value, Fault):
        return Reading(None, value.rule, {**expected, **value.details})
    if value < 0:
        return Reading(None, "number_form", expected)
    return Reading(float(value))


def _changed_by_spreadsheet(text: str) -> Reading | None:
    """What is said about `3:01`, `03:01:00` or `3-Jan`; None for anything else."""
    clock = _CLOCK.match(text)
    if clock:
        first, second, third = clock.groups()
        if third not in (None, "00"):
            return None
        untouched = third is None and not (is_padded(first) or is_padded(second))
        if untouched and not text[-1].isalpha():
            return None
        return _spreadsheet("time", int(first), int(second))
    if is_more_than_two(text) and not is_date_like(text):
        return None
    return _from_date(text)


def _from_date(text: str) -> Reading | None:
    if not is_date_like(text):
        return None
    day_month = re.sub(r"[0-9]{4}", "", text.split("T")[0].split(" 0")[0]).strip("-/. ")
    numbers = [int(part) for part in re.findall(r"[0-9]+", day_month)][:2]
    month = next((at for at, name in enumerate(_MONTHS, 1) if name in text.casefold()), None)
    month = month or next((at for name, at in _GERMAN_MONTHS.items() if name in text.casefold()), None)
    if month and numbers:
        numbers = [numbers[0], month]
    if len(numbers) < 2:
        return Reading(None, "parts_from_date", {"offer": "3+1"})
    low, high = sorted(numbers)
    offer = f"{high}+{low}" if low == high else f"{high}+{low} or {low}+{high}, as you meant it"
    return Reading(None, "parts_from_date", {"offer": offer})


def _spreadsheet(what: str, base: int, component: int) -> Reading:
    if base + component == 0:
        return Reading(None, "parts_of_nothing", {})
    return Reading(None, f"parts_from_{what}", {"offer": f"{base}+{component}"})

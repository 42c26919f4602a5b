"""The share of component: in percent (`40`, `40 %`) or in parts by volume, base first (`3:2`, `3+2`, `3 to 2`)."""

from __future__ import annotations

import re
from fractions import Fraction

from pipeline.intake.numbers import read_number
from pipeline.intake.quantities import is_date_like, number_fault, split_number
from pipeline.intake.readings import Fault, Reading, Setting
from schemas.units import find_unit

PARTS_EXPECTED = "base and component in parts, such as 3+1 or 3:1"

_PART = r"(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_DIVIDED = r" ?(?::|\+|/|\bto\b|(?<=[0-9])to(?=[0-9.,])) ?"
_PARTS = re.compile(rf"({_PART}){_DIVIDED}({_PART})\Z", re.IGNORECASE)
_MORE_PARTS = re.compile(rf"{_PART}(?:{_DIVIDED}{_PART}){{2,}}\Z", re.IGNORECASE)
_CLOCK = re.compile(r"([0-9]{1,3}):([0-9]{2})(?::([0-9]{2}))?(?: ?[ap]\.?m\.?)?\Z", re.IGNORECASE)
_PADDED = re.compile(r"0[0-9]")
_DAY_MONTH = re.compile(r"([0-9]{1,2})[^0-9]+([0-9]{1,2})\b")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_GERMAN_MONTHS = {"mär": 3, "mrz": 3, "mai": 5, "okt": 10, "dez": 12}


def read_share(text: str, setting: Setting) -> Reading:
    """Percent of a folded cell, unrounded. A number between 0 and 1 is held: it looks like a fraction."""
    number, spelling = split_number(text)
    value = _percent(number, setting)
    if is_date_like(text):
        return number_fault(Fault("number_is_date", {}), "share").reading()
    if isinstance(value, Fault) or "/" in number:
        return number_fault(
            value if isinstance(value, Fault) else Fault("number_form", {}), "share"
        ).reading()
    if spelling and find_unit(spelling, "share", setting.column) is None:
        return number_fault(Fault("number_form", {}), "share").reading()
    if 0 < value < 1:
        return Reading(None, "share_is_fraction", {"percent": f"{float(100 * value):g}"})
    if not 0 <= value <= 100:
        return Reading(None, "share_outside", {})
    return Reading(float(value))


def _percent(number: str, setting: Setting) -> Fraction | Fault:
    """The number of a share. `33.333` has one reading only: a share can't be thirty-three thousand."""
    value = read_number(number, setting.decimal_mark)
    if isinstance(value, Fault) and value.rule == "decimal_mark_open":
        small = read_number(value.details["small"], ".")
        large = int(value.details["large"])
        return small if large > 100 else value
    return value


def read_parts(text: str, setting: Setting) -> Reading:
    """Percent of component of a folded cell of parts, unrounded; parts that a spreadsheet made into a time or a
    date are held with an offer that no spreadsheet changes."""
    changed = _changed_by_spreadsheet(text)
    if changed is not None:
        return changed
    match = _PARTS.match(text)
    if not match:
        rule = "parts_three" if _MORE_PARTS.match(text) else "parts_form"
        return Reading(None, rule, {"expected": PARTS_EXPECTED})
    if any(_PADDED.match(part) for part in match.groups()):
        return Reading(None, "parts_form", {"expected": f"{PARTS_EXPECTED}, without a zero in front"})
    base = read_number(match[1], setting.decimal_mark)
    component = read_number(match[2], setting.decimal_mark)
    if isinstance(base, Fault):
        return Reading(None, base.rule, {"what": "parts", "expected": PARTS_EXPECTED, **base.details})
    if isinstance(component, Fault):
        return Reading(
            None, component.rule, {"what": "parts", "expected": PARTS_EXPECTED, **component.details}
        )
    return percent_of_parts(base, component)


def percent_of_parts(base: Fraction, component: Fraction) -> Reading:
    """Percent of component in `base` parts and `component` parts: 3 and 2 is 40 (common practice of the trade)."""
    if base + component == 0:
        return Reading(None, "parts_of_nothing", {})
    return Reading(float(100 * component / (base + component)))


def read_one_part(text: str, setting: Setting) -> Reading:
    """Parts of one side where base and component stand in two columns: a bare number, 0 or more."""
    expected = {"what": "parts", "expected": "a bare number, such as 3 or 0.5"}
    if is_date_like(text):
        return Reading(None, "number_is_date", expected)
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
        untouched = third is None and not any(_PADDED.match(part) for part in (first, second))
        if untouched and not text[-1].isalpha():
            return None
        return _spreadsheet("time", int(first), int(second))
    if _MORE_PARTS.match(text) and not is_date_like(text):
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

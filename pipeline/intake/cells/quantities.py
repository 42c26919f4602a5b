"""A number with a unit: volumes, lengths, temperatures, in the cell's unit or the one that the heading names.

Units are never guessed: a bare number under a heading without a unit is a Fault, and so is a cell whose unit is
another one than its heading's.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import NamedTuple

from pipeline.intake.cells.numbers import VULGAR_FRACTIONS, has_fraction, read_number, without_fraction
from pipeline.intake.cells.readings import Fault, Setting
from schemas.units import AmbiguousUnit, Unit, UnitKind, find_unit, units_read

_NUMBER_FIRST = re.compile(rf"[-+]?[0-9.,/ {VULGAR_FRACTIONS}]*")
_MONTH = (
    r"(?:jan(?:uar|uary)?|feb(?:ruar|ruary)?|mar(?:ch)?|märz?|mrz|apr(?:il)?|may|mai|june?|juni|july?|juli"
    r"|aug(?:ust)?|sept?(?:ember)?|o[ck]t(?:ober)?|nov(?:ember)?|de[cz](?:ember)?)\.?"
)
_DATE = re.compile(
    rf"(?:[0-9]{{4}}-[0-9]{{1,2}}-[0-9]{{1,2}}(?:[ T].*)?"
    rf"|[0-9]{{1,2}}[-/. ] ?{_MONTH}(?:[-/. ][0-9]{{2,4}})?"
    rf"|{_MONTH}[-/. ][0-9]{{1,4}}"
    r"|[0-9]{1,2}[./][0-9]{1,2}[./][0-9]{2,4})\Z",
    re.IGNORECASE,
)

_TIME_WORDS = ("a time", "a number and a unit, such as 205 s or 2 days")
KIND_WORDS: dict[UnitKind, tuple[str, str]] = {
    "volume": ("a volume", "a number and a unit, such as 300 ml or 1 1/2 cups"),
    "length": ("a length", "a number and a unit, such as 13 cm or 5 in"),
    "temperature": ("a temperature", "a number and a unit, such as 18 °C or 64 °F"),
    "time": _TIME_WORDS,
    "span": _TIME_WORDS,
    "age": _TIME_WORDS,
    "share": ("a share", "percent by volume, such as 40 or 40 %"),
}

EXAMPLE_UNITS: dict[UnitKind, str] = {
    "volume": "ml",
    "length": "cm",
    "temperature": "°C",
    "time": "s",
    "span": "days",
    "age": "days",
    "share": "%",
}
"""The unit that a message offers for a bare number."""


class Quantity(NamedTuple):
    """A value in the base unit of its kind, and the unit that was read."""

    value: Fraction
    unit: Unit


def is_date_like(text: str) -> bool:
    """Whether a cell looks like what a spreadsheet makes of `1/2` or `3/1`: `1-Feb`, `2026-01-03`, `03.01.2026`."""
    return bool(_DATE.match(text))


def split_number(text: str) -> tuple[str, str]:
    """A folded cell as its number and what stands behind it, both trimmed; the number may be empty."""
    match = _NUMBER_FIRST.match(text)
    end = match.end() if match else 0
    return text[:end].strip(), text[end:].strip()


def number_fault(fault: Fault, kind: UnitKind) -> Fault:
    """A Fault of a number with the words that say what its column expects."""
    what, expected = KIND_WORDS[kind]
    return Fault(fault.rule, {"what": what, "expected": expected, **fault.details})


def read_quantity(text: str, kind: UnitKind, setting: Setting) -> Quantity | Fault:
    """The value of a folded cell in ml, mm, s or °C, of any sign."""
    if is_date_like(text):
        return number_fault(Fault("number_is_date", {}), kind)
    number, spelling = split_number(text)
    if not number:
        return number_fault(Fault("number_form", {}), kind)
    value = read_number(number, setting.decimal_mark)
    if isinstance(value, Fault) and value.rule == "number_form":
        return number_fault(value, kind)
    unit = unit_of(spelling, number, kind, setting)
    if isinstance(unit, Fault):
        return unit
    if has_fraction(number) and not unit.in_fractions:
        return Fault("fraction_not_read", {"example": f"{without_fraction(number)} {unit.name}"})
    if isinstance(value, Fault):
        return number_fault(value, kind)
    return Quantity(unit.to_base(value), unit)


def unit_of(spelling: str, number: str, kind: UnitKind, setting: Setting) -> Unit | Fault:
    """The unit of a cell: its own, where it does not gainsay the heading's, else the heading's."""
    heading = setting.heading_unit
    if not spelling:
        if isinstance(heading, Unit):
            return heading
        if heading is None:
            return Fault(
                "unit_missing", {"units": _listed(kind), "example": f"{number} {EXAMPLE_UNITS[kind]}"}
            )
        return _ambiguous(heading, f"the heading's unit “{heading.spellings[0]}”", number)
    unit = find_unit(spelling, kind)
    if unit is None:
        return Fault("unit_unknown", {"unit": spelling, "units": _listed(kind)})
    if isinstance(unit, AmbiguousUnit):
        return _ambiguous(unit, f"“{spelling}”", number)
    if isinstance(heading, Unit) and not unit.same_size(heading):
        return Fault("unit_clash", {"unit": unit.name, "heading_unit": heading.name})
    return unit


def _ambiguous(unit: AmbiguousUnit, found: str, number: str) -> Fault:
    choices = " or ".join(f"{number} {choice}" for choice in unit.choices)
    return Fault("unit_ambiguous", {"unit": found, "choices": " or ".join(unit.choices), "examples": choices})


def _listed(kind: UnitKind) -> str:
    return ", ".join(units_read(kind))

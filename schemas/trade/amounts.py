"""Amounts in a person's units: `1.2 l`, `3 min 25 s`, `33.3 %`. Volumes, times and shares typed back give the same."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from schemas.trade.durations import HOUR_S, duration_in_words, plain_decimal

LITRE_ML = 1000
DAY_S = 86_400


def amount_in_words(value: float, unit: str) -> str:
    """A kept value with its unit (`ml`, `s`, `h`, `days`, a share, lengths, `°C`, or "" for a bare number) as a
    person says it."""
    exact = Decimal(repr(float(value)))
    if unit == "ml":
        return f"{plain_decimal(exact / LITRE_ML)} l" if exact >= LITRE_ML else f"{plain_decimal(exact)} ml"
    if unit == "s":
        return duration_in_words(exact)
    if unit in ("h", "days"):
        return _span_in_words(value, exact, unit)
    if unit.startswith("percent"):
        return f"{plain_decimal(exact)} %"
    return f"{float(value):.4g} {unit}".strip()


def _span_in_words(value: float, exact: Decimal, unit: str) -> str:
    """Whole days as days, shorter spans in hours and minutes where these give the very same value."""
    unit_s = HOUR_S if unit == "h" else DAY_S
    seconds = round(Fraction(value) * unit_s)
    if float(Fraction(seconds, unit_s)) != value:
        return f"{plain_decimal(exact)} {unit}"
    if seconds % DAY_S == 0:
        return f"{seconds // DAY_S} days"
    return duration_in_words(float(seconds))

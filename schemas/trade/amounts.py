"""Amounts and lengths of time in a person's units: `1.2 l`, `3 min 25 s`, `33.3 %`. Volumes, times and shares typed
back give the same."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

LITRE_ML = 1000
MINUTE_S, HOUR_S, DAY_S = 60, 3600, 86_400


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


def duration_in_words(seconds: float | Decimal) -> str:
    """`205` as `3 min 25 s`: hours, minutes and seconds, those that are 0 left out. Seconds keep every decimal;
    three decimals get a fourth, since `1.234` can be read in two ways."""
    exact = seconds if isinstance(seconds, Decimal) else Decimal(repr(float(seconds)))
    hours, rest = divmod(exact, HOUR_S)
    minutes, rest = divmod(rest, MINUTE_S)
    pieces = [(plain_decimal(hours), "h"), (plain_decimal(minutes), "min"), (plain_decimal(rest), "s")]
    return " ".join(f"{number} {unit}" for number, unit in pieces if number != "0") or "0 s"


def plain_decimal(number: Decimal) -> str:
    """A number in plain digits without an exponent or trailing zeros, but with a fourth decimal where it would
    have three: nobody can take it for thousands."""
    text = f"{number:f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{text}0" if len(text.partition(".")[2]) == 3 else text

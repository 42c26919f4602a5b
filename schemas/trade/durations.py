"""Lengths of time as a person says them: `3 min 25 s`, `3 h 25 min`; read back, they give the same time."""

from __future__ import annotations

from decimal import Decimal

MINUTE_S, HOUR_S = 60, 3600


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

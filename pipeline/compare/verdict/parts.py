"""Mixing by hand: the ratio of whole parts, base first, that serves a recommended share."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import gcd

from schemas.trade.parts import percent_of_parts

LARGEST_PART = 5
AT_MOST_OFF = 3.0
NEAR = 1.5
ROUNDING = 0.05


def ratios() -> list[tuple[float, str]]:
    """(share in percent, "base:component") of every ratio of whole numbers up to 5 in lowest terms, rising."""
    by_share = [
        (float(percent_of_parts(Fraction(base), Fraction(component))), f"{base}:{component}")
        for base in range(LARGEST_PART + 1)
        for component in range(1, LARGEST_PART + 1)
        if gcd(base, component) == 1
    ]
    return sorted(by_share)


def parts_for(share: float, clearing: Sequence[float]) -> str | None:
    """Parts for a recommended share, `clearing` being the supported shares that clear from it up, rising.

    The nearest ratio at or above the share, at most 3 points off and between clearing shares or within 1.5 points
    of one; else the same for the next clearing share up; else None.
    """
    for wanted in [cleared for cleared in clearing if cleared >= share - ROUNDING]:
        above = [(value, text) for value, text in ratios() if value >= wanted - ROUNDING]
        if above and above[0][0] - wanted <= AT_MOST_OFF and _covered(above[0][0], clearing):
            return above[0][1]
    return None


def _covered(value: float, clearing: Sequence[float]) -> bool:
    between = min(clearing) - ROUNDING <= value <= max(clearing) + ROUNDING
    return between or min(abs(value - cleared) for cleared in clearing) <= NEAR

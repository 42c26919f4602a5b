"""When two component shares count as the same. All in points of a percent by volume.

Rules: the project's contract, section 3 ("Mending": the same place in a series), and methods note, sections 0 and 7.
"""

from __future__ import annotations

import polars as pl

SAME_WITHIN = 0.5
"""One mix, however it was rounded: a row takes another's place, repeats are one cell."""
JOINS_WITHIN = 2.0
"""A share joins the one that more members measured and takes its value: 33.3 and 35."""
NEAR_WITHIN = 3.0
"""A share near one with at least twice its members: undecided, it does not block."""
ROUNDING = 1e-6
"""Room for binary fractions: 14.3 and 13.8 are half a point apart."""


def same_share(difference: pl.Expr) -> pl.Expr:
    """True where two shares that differ by this much are one mix."""
    return difference.abs() <= SAME_WITHIN + ROUNDING


def joins(first: float, second: float) -> bool:
    """Whether two shares lie near enough to count as one in the comparison."""
    return abs(first - second) <= JOINS_WITHIN + ROUNDING

"""How many pots: the chance that a series sees a given ratio, exact by the non-central t on the ln scale."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan, log, sqrt

from scipy.special import chdtr, nctdtr, stdtrit

MOST_POTS = 50
"""Pots a mix beyond which no plan is made: nobody fills them."""
SEEN_AT = 0.975
"""A ratio is seen when the 95 % interval of the series' own t lies wholly on its side of 1."""


@dataclass(frozen=True)
class Layout:
    """pots: fillings of each mix; baseline_pots: of straight base; mixes: how many mixes stand beside it."""

    pots: int
    baseline_pots: int
    mixes: int

    @property
    def degrees_of_freedom(self) -> int:
        """Of the scatter between fillings, pooled over the mixes and the baseline."""
        return self.baseline_pots + self.mixes * self.pots - (self.mixes + 1)


def baseline_pots(pots: int, mixes: int) -> int:
    """Fillings of the baseline when each of `mixes` is compared with it: pots × √mixes, the split that makes the
    comparisons most precise for the same number of pots (Dunnett 1955, from memory)."""
    return max(pots, round(pots * sqrt(mixes)))


def layout(pots: int, mixes: int) -> Layout:
    """The layout with so many pots a mix and a baseline that serves them all."""
    return Layout(pots, baseline_pots(pots, mixes), mixes)


def chance_seen(given: Layout, ratio: float, pot_sd: float) -> float:
    """Chance (0-1) that the series sees a true `ratio`: that its 95 % interval lies on that side of 1.

    ln rates of fillings scatter normally with `pot_sd`. t = difference of means over its standard error is
    non-central t with δ = |ln ratio| / (pot_sd √(1/n + 1/n0)). 0.0 where nothing is left to measure the scatter by.
    """
    if given.degrees_of_freedom < 1:
        return 0.0
    shift = abs(log(ratio)) / (pot_sd * sqrt(1 / given.pots + 1 / given.baseline_pots))
    limit = float(stdtrit(given.degrees_of_freedom, SEEN_AT))
    missed = float(nctdtr(given.degrees_of_freedom, shift, limit))
    if isnan(
        missed
    ):  # beyond the library's series, at shifts of 30 and more: only the scatter's own chance is left
        return float(chdtr(given.degrees_of_freedom, given.degrees_of_freedom * (shift / limit) ** 2))
    return 1.0 - missed


def pots_needed(mixes: int, chance: float, ratio: float, pot_sd: float) -> Layout | None:
    """The smallest layout that sees `ratio` with at least this chance; None where MOST_POTS a mix are too few."""
    for pots in range(1, MOST_POTS + 1):
        given = layout(pots, mixes)
        if chance_seen(given, ratio, pot_sd) >= chance:
            return given
    return None


def smallest_ratio_seen(given: Layout, chance: float, pot_sd: float) -> float | None:
    """The smallest ratio above 1 that this layout sees with that chance, to 0.01; None where it is above 10."""
    low, high = 100, 1000
    if chance_seen(given, high / 100, pot_sd) < chance:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if chance_seen(given, middle / 100, pot_sd) >= chance else (middle, high)
    return high / 100

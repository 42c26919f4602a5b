"""What is stated of a new grower's series: chances and ranges that know how uncertain the spread between growers is.

Below 100 independent growers they come from the spreads' posterior, from there on from the plain estimate; in fixed clubs
they are averages over the clubs' own means (methods note, sections 5 and 15).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from pipeline.compare.arrays import Flags, Floats
from pipeline.compare.contrasts.independence import Independence
from pipeline.compare.model.estimate import Estimate
from pipeline.compare.model.prediction import (
    NEEDED_AT_SHARE,
    NEEDED_IN_FIT,
    Prediction,
    sparse_variance,
    units_in_fit,
)
from pipeline.compare.posterior.clubs import ClubChances, club_chances
from pipeline.compare.posterior.companion import GROWERS_WITHOUT, Companion, at_estimate, companion

LEAST_REFERENCE = 10.0
"""Percent. The prior of growers' slopes is set at the reference share, never so near 0 that it says nothing."""


class Chances(Protocol):
    """Per share of a fit, for one new grower; NaN where too few growers tell it."""

    def above(self, ratio: float) -> Floats:
        """Chance that a new series shows more than this ratio."""
        ...

    def pot_above(self, ratio: float) -> Floats:
        """The same for one pot beside one pot."""
        ...

    def range(self) -> tuple[Floats, Floats]:
        """95 % range of a new series, ln ratio."""
        ...

    def clears(self, ratio: float, assurance: float) -> Flags:
        """Whether this ratio is reached with this assurance by every reading that a `clears` must survive."""
        ...


@dataclass(frozen=True)
class Stated:
    """Chances and 95 % range (ln) of a new grower's series that are printed, per share. p_all: chance that one new grower
    reaches the target at this share and at every larger supported one; NaN where that isn't known."""

    p_faster: Floats
    p_clears: Floats
    p_faster_pot: Floats
    p_clears_pot: Floats
    new_low: Floats
    new_high: Floats
    p_all: Floats


@dataclass(frozen=True)
class SpreadChances:
    """Chances of one fit without stopped runs. plain: what the plain estimate says; companion: the same over the
    posterior of the spreads, or (integrated False) at their estimate; clubs: where clubs are fixed."""

    plain: Prediction
    companion: Companion
    integrated: bool
    clubs: ClubChances | None
    pot_variance: float

    def above(self, ratio: float) -> Floats:
        """Chance that a new series shows more than this ratio."""
        return self._above(ratio, 0.0)

    def pot_above(self, ratio: float) -> Floats:
        """The same for one pot beside one pot."""
        return self._above(ratio, 2.0 * self.pot_variance)

    def range(self) -> tuple[Floats, Floats]:
        """95 % range of a new series, ln ratio."""
        known = self.plain.new_series.degrees >= 1
        if self.clubs is not None:
            low, high = (
                np.array([float(series.quantile(part)[0]) for series in self.clubs.series])
                for part in (0.025, 0.975)
            )
        elif self.integrated:
            low, high = self.companion.new_low, self.companion.new_high
        else:
            low, high = self.plain.new_low, self.plain.new_high
        return np.where(known, low, np.nan), np.where(known, high, np.nan)

    def clears(self, ratio: float, assurance: float) -> Flags:
        """Whether the stated chance, the plain estimate's, and that in every larger fixed club reach far enough."""
        with np.errstate(invalid="ignore"):
            both = (self.above(ratio) >= assurance) & (self.plain.new_series.above(ratio) >= assurance)
        return both if self.clubs is None else both & self.clubs.clears(assurance, ratio)

    @property
    def p_all(self) -> Floats:
        """Chance of reaching the target at a share and at every larger supported one."""
        chance = self.companion.p_all if self.clubs is None else self.clubs.p_all
        with np.errstate(invalid="ignore"):
            return np.asarray(np.minimum(chance, self.plain.p_clears) if not self.integrated else chance)

    def _above(self, ratio: float, further_variance: float) -> Floats:
        plain = self.plain.new_series
        if self.clubs is not None:
            chance = self.clubs.above(ratio, further_variance)
        elif self.integrated:
            chance = self.companion.series.plus(further_variance).above(ratio)
        else:
            chance = plain.plus(further_variance).above(ratio)
        return np.where(plain.degrees >= 1, chance, np.nan)


def spread_chances(
    estimated: Estimate,
    prediction: Prediction,
    independent: Independence,
    pot_variance: float,
    target_ratio: float,
    reference_share: float,
) -> SpreadChances:
    """The chances of a fit; `pot_variance` is s_r squared."""
    design, fit = estimated.design, estimated.fit
    in_fit = units_in_fit(design)
    integrated = in_fit < GROWERS_WITHOUT
    supported = (estimated.units >= NEEDED_AT_SHARE) & (in_fit >= NEEDED_IN_FIT)
    given = companion(
        design,
        fit.reduced,
        pot_variance,
        target_ratio,
        max(abs(reference_share), LEAST_REFERENCE),
        least_variance=sparse_variance(estimated),
        counted=np.asarray(supported),
        found=None if integrated else at_estimate(fit.variances, fit.coefficients, fit.covariance),
    )
    clubs = None
    if independent.offsets is not None and design.offsets:
        clubs = club_chances(
            design, given.posterior, independent.offsets, target_ratio, np.asarray(supported)
        )
    return SpreadChances(prediction, given, integrated, clubs, pot_variance)


def stated(chances: Chances, target_ratio: float, p_all: Floats) -> Stated:
    """What is printed of these chances."""
    low, high = chances.range()
    return Stated(
        chances.above(1.0),
        chances.above(target_ratio),
        chances.pot_above(1.0),
        chances.pot_above(target_ratio),
        low,
        high,
        p_all,
    )

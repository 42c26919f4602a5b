"""What the random-level fit says of a new grower's series, in two readings.

The first takes the level of a series as unrelated to its ratio; the second lets them go together, by a correlation that
is estimated where the data tell it and set either way where they don't. What is claimed must hold in both.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr, stdtrit

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.random_level.fit import LevelFit, fit_random_level
from pipeline.compare.random_level.stopped_pool import StoppedPool

NORMAL_95 = 1.959963984540054
RHO_TOLD = 0.2
"""Largest standard error of a correlation that counts as told by the data."""
RHO_ASSUMED = 0.3


@dataclass(frozen=True)
class LevelReading:
    """Per share of the pool, ln ratio. low, high: 95 % interval of the mean (robust by block, never narrower than the
    model's); deviation: standard deviation of a new series about it; degrees: independent growers less one; rho: the
    correlation of level and ratio that it rests on."""

    shares: Floats
    mean: Floats
    low: Floats
    high: Floats
    deviation: Floats
    degrees: Floats
    rho: float

    def above(self, ratio: float, pot_variance: float = 0.0) -> Floats:
        """Chance that a new series (with twice `pot_variance` added: one pot beside one pot) shows more than this ratio;
        NaN below one degree of freedom."""
        wide = np.sqrt(self.deviation**2 + 2.0 * pot_variance)
        with np.errstate(invalid="ignore", divide="ignore"):
            chance = stdtr(np.maximum(self.degrees, 1.0), (self.mean - np.log(ratio)) / wide)
        return np.asarray(np.where(self.degrees >= 1, chance, np.nan))

    def range(self) -> tuple[Floats, Floats]:
        """95 % range of a new series."""
        reach = stdtrit(np.maximum(self.degrees, 1.0), 0.975) * self.deviation
        return self.mean - reach, self.mean + reach


@dataclass(frozen=True)
class TwoReadings:
    """Level and ratio unrelated, and going together. estimated: whether the second's correlation is the data's own."""

    plain: LevelReading
    related: tuple[LevelReading, ...]
    estimated: bool
    fit: LevelFit

    def lowest(self, ratio: float) -> Floats:
        """The lowest chance of all readings, which a `clears` must survive."""
        chances = np.array([reading.above(ratio) for reading in (self.plain, *self.related)])
        return np.asarray(chances.min(axis=0), dtype=np.float64)


def two_readings(pool: StoppedPool, unit: Whole, run_variance: float) -> TwoReadings | None:
    """Both readings of a pool; None where no fit is possible. `unit` is the independent unit of each member of the pool."""
    plain = fit_random_level(pool)
    if plain is None:
        return None
    own = fit_random_level(pool, None, plain)
    told = own is not None and own.rho_error <= RHO_TOLD
    fits = [own] if told else [fit_random_level(pool, rho, plain) for rho in (-RHO_ASSUMED, RHO_ASSUMED)]
    related = tuple(read_level(fit, unit, run_variance) for fit in fits if fit is not None)
    return TwoReadings(read_level(plain, unit, run_variance), related, told, plain)


def read_level(fit: LevelFit, unit: Whole, run_variance: float) -> LevelReading:
    """One fit read share by share; maximum likelihood finds spreads between growers too small, so they are widened by
    units / (units - 1)."""
    pool, count = fit.pool, len(fit.pool.shares)
    units = units_at(pool, unit, np.ones(len(unit), dtype=bool))
    own = np.sqrt(np.maximum(np.diag(fit.covariance)[1 : 1 + count], 0.0))
    robust = np.sqrt(np.maximum(np.diag(fit.robust)[1 : 1 + count], 0.0))
    degrees = units - 1.0
    half = np.maximum(stdtrit(np.maximum(degrees, 1.0), 0.975) * robust, NORMAL_95 * own)
    everyone = len(np.unique(unit[pool.informative.any(axis=1)]))
    deviation = np.sqrt(own**2 + spread_of(fit, everyone))
    return LevelReading(
        pool.shares, fit.means, fit.means - half, fit.means + half, deviation, degrees, fit.at.rho
    )


def spread_of(fit: LevelFit, units: int) -> Floats:
    """Variance of a new series about the mean at each share."""
    square = {name: float(sd) ** 2 for name, sd in zip(fit.pool.names, fit.at.sds, strict=True)}
    x = fit.pool.shares / 100.0
    between = square["member"] + square.get("club", 0.0) + square.get("slope", 0.0) * x**2
    widen = units / max(units - 1, 1)
    return np.asarray(widen * between + square.get("series", 0.0) + square["mix"])


def units_at(pool: StoppedPool, unit: Whole, kept: Flags) -> Floats:
    """Independent growers who tell each share: a baseline and the share in one series, at least one of them timed."""
    return np.array([len(np.unique(unit[kept & told])) for told in pool.informative.T], dtype=np.float64)

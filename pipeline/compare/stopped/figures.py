"""Every figure of an answer with stopped clocks: mean, spread, leave-one-out refits, chances in two readings, verdicts.

Leave-one-out refits are one Newton step from the full maximum; where blocks are clubs, a refit without a grower leaves
out the grower's whole club.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.model.estimate import Without
from pipeline.compare.model.heterogeneity import Heterogeneity, typical_sampling_variance
from pipeline.compare.model.leave_out import Refits
from pipeline.compare.model.prediction import NewSeries, Prediction, prediction_of
from pipeline.compare.model.robust import Robust
from pipeline.compare.posterior.claims import pot_errors_to_try
from pipeline.compare.posterior.clubs import CLUB_BELOW, MEMBERS_OF_A_CLUB
from pipeline.compare.random_level.fit import LevelFit, fit_random_level, parameters
from pipeline.compare.random_level.reading import LevelReading, TwoReadings, read_level, spread_of, units_at
from pipeline.compare.random_level.stopped_pool import lay_out
from pipeline.compare.stopped.design import StoppedDesign
from pipeline.compare.verdict.answer import Answer, Fitted, Numbers, weigh
from pipeline.compare.verdict.chances import stated
from pipeline.compare.verdict.leave_one_out import LeaveOneOut
from pipeline.compare.verdict.verdicts import share_verdicts


@dataclass(frozen=True)
class StoppedChances:
    """Chances with stopped clocks: the lowest of all readings; each is a t distribution, in fixed clubs averaged over the
    clubs. also: the plain answer, which must clear as well where few baselines were stopped; club_members: growers of each
    fixed club."""

    plain: NewSeries
    related: tuple[NewSeries, ...]
    rhos: tuple[float, ...]
    estimated: bool
    pot_variance: float
    club_members: tuple[int, ...]
    also: Fitted | None

    @property
    def readings(self) -> tuple[NewSeries, ...]:
        """Level and ratio unrelated, then going together."""
        return (self.plain, *self.related)

    def above(self, ratio: float) -> Floats:
        """Chance that a new series shows more than this ratio."""
        return np.asarray(np.min([reading.above(ratio) for reading in self.readings], axis=0))

    def pot_above(self, ratio: float) -> Floats:
        """The same for one pot beside one pot."""
        pots = [reading.plus(2.0 * self.pot_variance) for reading in self.readings]
        return np.asarray(np.min([reading.above(ratio) for reading in pots], axis=0))

    def range(self) -> tuple[Floats, Floats]:
        """95 % range of a new series, ln ratio: the widest of all readings, fixed clubs included."""
        ends = [_range(reading) for reading in self.readings]
        return np.min([low for low, _ in ends], axis=0), np.max([high for _, high in ends], axis=0)

    def clears(self, ratio: float, assurance: float) -> Flags:
        """Whether the lowest reading reaches the assurance, no larger fixed club stays far below it, and the plain model
        agrees where it must."""
        with np.errstate(invalid="ignore"):
            enough = self.above(ratio) >= assurance
            for club, members in enumerate(self.club_members):
                if members >= MEMBERS_OF_A_CLUB:
                    enough &= self._lowest_in(club, ratio) >= assurance - CLUB_BELOW
            if self.also is not None:
                enough &= _clears_plainly(self.also, ratio, assurance)
        return np.asarray(enough)

    def _lowest_in(self, club: int, ratio: float) -> Floats:
        chances = []
        for reading in self.readings:
            offset = 0.0 if reading.offsets is None else float(reading.offsets[club])
            own = NewSeries(reading.mean + offset, reading.deviation, reading.degrees)
            chances.append(own.above(ratio))
        return np.asarray(np.min(chances, axis=0))


def _clears_plainly(plain: Fitted, ratio: float, assurance: float) -> Flags:
    """Shares that clear in the plain model with all its refits, series with a stopped baseline left out."""
    evidence = weigh(
        plain.chances, plain.leave_one_out, plain.others, plain.estimate, False, ratio, assurance
    )
    return np.asarray((evidence.p_clears >= assurance) & evidence.by_growers & evidence.by_others)


def _range(reading: NewSeries) -> tuple[Floats, Floats]:
    low, high = reading.range()
    if reading.offsets is None:
        return low, high
    return low + float(np.nanmin(reading.offsets)), high + float(np.nanmax(reading.offsets))


@dataclass(frozen=True)
class StoppedFit:
    """Two readings of one pool with what turns them into figures per share of the plain design. Shares that the
    likelihood could not tell are unknown (NaN) there."""

    given: Answer
    plain: Fitted
    design: StoppedDesign
    readings: TwoReadings

    @property
    def fit(self) -> LevelFit:
        """The fit with level and ratio unrelated."""
        return self.readings.fit

    def at_all_shares(self, values: Floats, missing: float = np.nan) -> Floats:
        """Values of the shares that were fitted, in an array of all shares; `missing` at the others."""
        shares = self.plain.estimate.design.shares
        wide = np.full(len(shares), missing)
        wide[np.searchsorted(shares, self.fit.pool.shares)] = values
        return wide

    def units(self, kept: Flags) -> Floats:
        """Independent units at each share, kept members only."""
        return self.at_all_shares(units_at(self.fit.pool, self.design.unit, kept), 0.0)

    def new_series(self, reading: LevelReading, coefficients: Floats) -> NewSeries:
        """A reading at all shares; `coefficients` of its fit hold the offsets of fixed clubs."""
        return NewSeries(
            self.at_all_shares(reading.mean),
            self.at_all_shares(reading.deviation),
            self.at_all_shares(reading.degrees, 0.0),
            club_offsets(self.fit, coefficients),
        )


def club_offsets(fit: LevelFit, coefficients: Floats) -> Floats | None:
    """Offsets of fixed clubs, which add up to 0; None where clubs are not fixed."""
    if not fit.pool.offsets:
        return None
    start = 1 + len(fit.pool.shares)
    offsets = coefficients[start : start + fit.pool.offsets]
    return np.append(offsets, -offsets.sum())


def stopped_figures(found: StoppedFit, numbers: Numbers, also: Fitted | None) -> Fitted:
    """The fitted answer with every figure from the two readings."""
    sd = found.given.repeatability.sd
    everyone = np.ones(len(found.design.unit), dtype=bool)
    units = found.units(everyone)
    reading, coefficients = found.readings.plain, found.fit.at.coefficients
    own = np.sqrt(np.maximum(np.diag(found.fit.covariance)[1 : 1 + len(reading.shares)], 0.0))
    estimated = replace(
        found.plain.estimate,
        mean=found.at_all_shares(reading.mean),
        error=found.at_all_shares(own),
        spread=found.at_all_shares(reading.deviation**2 - own**2),
        units=units.astype(np.int64),
    )
    new_series = found.new_series(reading, coefficients)
    chances = StoppedChances(
        new_series,
        tuple(found.new_series(related, coefficients) for related in found.readings.related),
        tuple(related.rho for related in found.readings.related),
        found.readings.estimated,
        sd**2,
        _club_members(found.design),
        also,
    )
    leave_one_out, others = _leave_one_out(found), _other_pot_errors(found)
    evidence = replace(
        weigh(chances, leave_one_out, others, estimated, False, numbers.target_ratio, numbers.assurance),
        units_in_fit=len(np.unique(found.design.unit[found.fit.pool.informative.any(axis=1)])),
    )
    return Fitted(
        estimated,
        _predicted(found, new_series, sd, numbers.target_ratio),
        chances,
        stated(chances, numbers.target_ratio, np.full(len(units), np.nan)),
        leave_one_out,
        others,
        evidence,
        _heterogeneity(found, numbers.reference_share),
        tuple(share_verdicts(evidence, numbers.assurance)),
    )


def _club_members(design: StoppedDesign) -> tuple[int, ...]:
    """Growers of each fixed club; none where clubs are not fixed."""
    if design.independent.offsets is None or not design.pool.offsets:
        return ()
    clubs = list(design.independent.offsets.values())
    return tuple(clubs.count(club) for club in range(design.pool.offsets + 1))


def _heterogeneity(found: StoppedFit, reference_share: float) -> Heterogeneity:
    """Spread at the reference share (percent)."""
    square = {name: float(sd) ** 2 for name, sd in zip(found.fit.pool.names, found.fit.at.sds, strict=True)}
    within = square.get("series", 0.0) + square["mix"]
    between = square["member"] + square.get("club", 0.0)
    between += square.get("slope", 0.0) * (reference_share / 100.0) ** 2
    typical = typical_sampling_variance(found.plain.estimate.fit.layout)
    total = between + within
    return Heterogeneity(float(np.sqrt(between)), float(np.sqrt(within)), total / (total + typical))


def _leave_one_out(found: StoppedFit) -> LeaveOneOut:
    """Every refit without one set; sets that leave the same blocks are one."""
    count = len(found.plain.estimate.design.shares)
    chosen: dict[tuple[int, ...], tuple[str, tuple[int, ...]]] = {}
    for kind, codes in found.design.independent.left_out:
        blocks = found.design.blocks_without(codes)
        if 0 < len(blocks) < len(found.fit.scores):
            chosen.setdefault(tuple(int(block) for block in blocks), (kind, codes))
    mean, deviation = np.zeros((len(chosen), count)), np.zeros((len(chosen), count))
    units, offsets = np.zeros((len(chosen), count)), np.zeros((len(chosen), found.fit.pool.offsets + 1))
    for row, left in enumerate(chosen):
        blocks = np.array(left, dtype=np.int64)
        refit, covariance = _without(found.fit, blocks)
        kept = found.design.members_without(blocks)
        units[row] = found.units(kept)
        everyone = len(np.unique(found.design.unit[kept & found.fit.pool.informative.any(axis=1)]))
        own = np.diag(covariance)[1 : 1 + len(found.fit.pool.shares)]
        mean[row] = found.at_all_shares(refit.means)
        deviation[row] = found.at_all_shares(np.sqrt(np.maximum(own + spread_of(refit, everyone), 0.0)))
        own_offsets = club_offsets(refit, refit.at.coefficients)
        if own_offsets is not None:
            offsets[row] = own_offsets
    nothing = Refits(np.zeros((0, 0)), np.zeros((0, 0)), np.zeros((0, 0, 0)), np.zeros(0), True)
    in_fit = units.max(axis=1, initial=0).astype(np.int64)
    without = Without(mean, deviation, deviation**2, units.astype(np.int64), in_fit, nothing)
    kinds, codes_left = zip(*chosen.values(), strict=True) if chosen else ((), ())
    fixed = offsets if found.fit.pool.offsets else None
    return LeaveOneOut(
        tuple(kinds), tuple(codes_left), without, NewSeries(mean, deviation, units - 1.0, fixed)
    )


def _without(fit: LevelFit, blocks: Whole) -> tuple[LevelFit, Floats]:
    """(the fit without these blocks, covariance of its coefficients)."""
    vector, covariance = fit.without(blocks)
    p, k = len(fit.at.coefficients), len(fit.at.sds)
    return replace(fit, at=parameters(vector, p, k, fit.at.rho)), covariance


def _other_pot_errors(found: StoppedFit) -> tuple[NewSeries, ...]:
    """Refits with half and twice an assumed pot error; a refit that can't be had forbids as one that fails."""
    repeatability, cells = found.given.repeatability, found.given.cells
    results = []
    for times in pot_errors_to_try(not repeatability.measured, cells.pots, cells.member):
        variance = (times * repeatability.sd) ** 2
        pool = lay_out(found.design.runs, variance)
        fit = fit_random_level(pool, 0.0, found.fit)
        if fit is None:
            nothing = np.full(len(found.plain.estimate.mean), np.nan)
            results.append(NewSeries(nothing, nothing, np.zeros(len(nothing))))
            continue
        results.append(found.new_series(read_level(fit, found.design.unit, variance), fit.at.coefficients))
    return tuple(results)


def _predicted(found: StoppedFit, new_series: NewSeries, sd: float, target_ratio: float) -> Prediction:
    """Intervals of the mean and the first reading's probabilities."""
    reading = found.readings.plain
    count = len(reading.shares)
    error = np.sqrt(np.maximum(np.diag(found.fit.robust)[1 : 1 + count], 0.0))
    robust = Robust(
        np.diag(found.at_all_shares(error) ** 2),
        np.maximum(new_series.degrees, 1.0),
        len(found.fit.scores),
    )
    mean = (found.at_all_shares(reading.low), found.at_all_shares(reading.high))
    return prediction_of(new_series, robust, mean, sd**2, target_ratio)

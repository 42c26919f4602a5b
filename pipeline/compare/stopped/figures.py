"""Every figure of an answer from the censored likelihood: mean, spread, leave-one-out refits, probabilities, verdicts.

Leave-one-out refits are one Newton step from the full maximum. Members' spreads are widened by members / (members - 1)
because maximum likelihood finds them too small with few members.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.contrasts.independence import Independence
from pipeline.compare.model.estimate import NORMAL_95, Without, t_quantile
from pipeline.compare.model.heterogeneity import Heterogeneity, typical_sampling_variance
from pipeline.compare.model.leave_out import Refits
from pipeline.compare.model.prediction import NewSeries, Prediction
from pipeline.compare.model.robust import Robust
from pipeline.compare.stopped.design import StoppedDesign
from pipeline.compare.stopped.mixed_fit import MixedFit
from pipeline.compare.verdict.answer import Fitted, Numbers, weigh
from pipeline.compare.verdict.leave_one_out import LeaveOneOut, sets_left_out
from pipeline.compare.verdict.verdicts import share_verdicts


@dataclass(frozen=True)
class CensoredAnswer:
    """The censored fit of one answer with what turns it into figures per share of the plain design.

    Shares that the likelihood could not tell are unknown (NaN) there."""

    plain: Fitted
    laid: StoppedDesign
    mixed: MixedFit
    independent: Independence
    sd: float

    @property
    def unit(self) -> Whole:
        """Independent unit of each member."""
        return np.array([self.independent.unit[int(code)] for code in self.laid.member_code], dtype=np.int64)

    def at_all_shares(self, values: Floats, missing: float = np.nan) -> Floats:
        """Values of the shares that were fitted, in an array of all shares; `missing` at the others."""
        shares = self.plain.estimate.design.shares
        wide = np.full(len(shares), missing)
        wide[np.searchsorted(shares, self.laid.shares)] = values
        return wide

    def spread_parts(self, shared: Floats, x: Floats, pot_variance: float) -> tuple[Floats, Floats]:
        """(between growers, within growers) variances of a new series at shares x (0-1), by shared parameters."""
        members, start = self.laid.runs.members, self.mixed.point
        squares = np.exp(2.0 * shared[len(self.laid.shares) :])
        between = np.full(len(x), squares[1])
        if start.slope is not None:
            between = between + squares[-1] * x**2
        series = squares[2] if start.series is not None else 0.0
        within = np.full(len(x), series + 2.0 * max(float(squares[0]) - pot_variance, 0.0))
        return members / max(members - 1, 1) * between, within

    def spread(self, shared: Floats, pot_variance: float) -> Floats:
        """Variance of a new series at each fitted share."""
        between, within = self.spread_parts(shared, self.laid.shares / 100.0, pot_variance)
        return between + within

    def units(self, kept: Flags) -> Floats:
        """Independent units at each share, kept members only."""
        return self.at_all_shares(self.laid.units_at(self.unit, kept), 0.0)


def censored_figures(censored: CensoredAnswer, numbers: Numbers) -> Fitted:
    """The fitted answer with every figure from the censored likelihood: mean, spread, refits, probabilities, verdicts."""
    plain, laid, mixed, sd = censored.plain, censored.laid, censored.mixed, censored.sd
    full = censored.at_all_shares
    units = censored.units(np.ones(laid.runs.members, dtype=bool))
    estimated = replace(
        plain.estimate,
        mean=full(mixed.point.means),
        error=full(np.sqrt(np.diag(mixed.covariance))),
        spread=full(censored.spread(mixed.shared, sd**2)),
        units=units.astype(np.int64),
    )

    def new_series(spread: Floats) -> NewSeries:
        return NewSeries(estimated.mean, np.sqrt(estimated.error**2 + spread), units - 1.0)

    wider = new_series(full(censored.spread(mixed.shared, 0.25 * sd**2)))
    leave_one_out = _leave_one_out(censored)
    prediction = _predicted(new_series(estimated.spread), censored, numbers.target_ratio)
    others = (wider,)
    evidence = replace(
        weigh(prediction, leave_one_out, others, estimated, False, numbers.target_ratio, numbers.assurance),
        units_in_fit=len(np.unique(censored.unit[laid.informative.any(axis=1)])),
    )
    return Fitted(
        estimated,
        prediction,
        leave_one_out,
        others,
        evidence,
        _heterogeneity(censored, numbers.reference_share),
        tuple(share_verdicts(evidence, numbers.assurance)),
    )


def _heterogeneity(censored: CensoredAnswer, reference_share: float) -> Heterogeneity:
    """Spread at the reference share (percent)."""
    between, within = censored.spread_parts(
        censored.mixed.shared, np.array([reference_share / 100.0]), censored.sd**2
    )
    typical = typical_sampling_variance(censored.plain.estimate.fit.layout)
    total = float(between[0] + within[0])
    return Heterogeneity(float(np.sqrt(between[0])), float(np.sqrt(within[0])), total / (total + typical))


def _leave_one_out(censored: CensoredAnswer) -> LeaveOneOut:
    """Every refit without one set, by one Newton step from the full maximum."""
    laid, full = censored.laid, censored.at_all_shares
    sets = sets_left_out(censored.independent, laid.member_code)
    p, count = len(laid.shares), len(censored.plain.estimate.design.shares)
    mean, deviation = np.zeros((len(sets), count)), np.zeros((len(sets), count))
    units = np.zeros((len(sets), count))
    for row, left in enumerate(sets):
        shared, covariance = censored.mixed.without(left.members)
        kept = np.ones(laid.runs.members, dtype=bool)
        kept[left.members] = False
        mean[row] = full(shared[:p])
        width = np.diag(covariance) + censored.spread(shared, censored.sd**2)
        deviation[row] = full(np.sqrt(np.maximum(width, 0.0)))
        units[row] = censored.units(kept)
    nothing = Refits(np.zeros((0, 0)), np.zeros((0, 0)), np.zeros((0, 0, 0)), np.zeros(0), True)
    without = Without(
        mean, deviation, deviation**2, units.astype(np.int64), units.max(axis=1).astype(np.int64), nothing
    )
    kinds, codes = tuple(left.kind for left in sets), tuple(left.codes for left in sets)
    return LeaveOneOut(kinds, codes, without, NewSeries(mean, deviation, units - 1.0))


def _predicted(new_series: NewSeries, censored: CensoredAnswer, target_ratio: float) -> Prediction:
    """Intervals and probabilities; the mean's interval is robust by member, never narrower than the model's own."""
    mixed, full, sd = censored.mixed, censored.at_all_shares, censored.sd
    robust = np.sqrt(np.maximum(np.diag(mixed.robust), 0.0))
    own = np.sqrt(np.diag(mixed.covariance))
    degrees = np.maximum(new_series.degrees, 1.0)
    half = np.maximum(t_quantile(degrees) * full(robust), NORMAL_95 * full(own))
    reach = t_quantile(degrees) * new_series.deviation
    pot = NewSeries(new_series.mean, np.sqrt(new_series.deviation**2 + 2.0 * sd**2), new_series.degrees)
    return Prediction(
        new_series=new_series,
        robust=Robust(np.diag(full(robust) ** 2), degrees, len(mixed.scores)),
        low=new_series.mean - half,
        high=new_series.mean + half,
        new_low=new_series.mean - reach,
        new_high=new_series.mean + reach,
        deviation=new_series.deviation,
        p_faster=new_series.above(1.0),
        p_clears=new_series.above(target_ratio),
        p_faster_pot=pot.above(1.0),
        p_clears_pot=pot.above(target_ratio),
    )

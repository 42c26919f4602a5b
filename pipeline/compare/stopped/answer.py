"""Where runs stopped early would bias the plain model, the censored mixed likelihood gives the answer instead.

Mean, spread, probabilities, leave-one-out refits and the small-share test then come from it; the plain model is the
check beside it. Leave-one-out refits are one Newton step from the full maximum. Members' spreads are widened by members / (members - 1) because
maximum likelihood finds them too small with few members.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.contrasts.cells import SingleRuns
from pipeline.compare.contrasts.independence import Independence, Ties, independence
from pipeline.compare.model.estimate import NORMAL_95, Without, t_quantile
from pipeline.compare.model.heterogeneity import Heterogeneity, typical_sampling_variance
from pipeline.compare.model.layout import nest
from pipeline.compare.model.leave_out import Refits
from pipeline.compare.model.prediction import NEEDED_FOR_MEAN, NewSeries, Prediction
from pipeline.compare.model.robust import Robust
from pipeline.compare.stopped.mixed_fit import MixedFit, fit_mixed
from pipeline.compare.stopped.mixed_likelihood import Point, StoppedRuns
from pipeline.compare.verdict.answer import Answer, Fitted, Numbers, weigh
from pipeline.compare.verdict.leave_one_out import LeaveOneOut, sets_left_out
from pipeline.compare.verdict.verdicts import advise, clearing_run, share_verdicts

START_SPREAD = 0.1

Fill = Callable[[Floats, float], Floats]
"""Puts values of the shares that were fitted into an array of all shares, with a value for the others."""


@dataclass(frozen=True)
class _Laid:
    """Runs laid out for the likelihood: shares of the columns, member numbers, and which members are
    informative at each share."""

    runs: StoppedRuns
    shares: Floats
    member_code: Whole
    informative: Flags


def answer_by_stopped_runs(given: Answer, singles: SingleRuns, ties: Ties, numbers: Numbers) -> Answer:
    """The answer by the censored likelihood where stopped runs forbid the plain one; unchanged where it can't be fitted
    (then no share clears and the reason stands in `why`)."""
    if not given.stopped_runs_forbid_clears or given.fitted is None:
        return given
    laid = _laid(singles, given.fitted.estimate.design.shares)
    if laid is None:
        return given
    counted = laid.member_code[laid.informative.any(axis=1)].tolist()
    independent = independence(laid.member_code.tolist(), ties, counted)
    if independent.block is not None or independent.offsets is not None:
        return given
    mixed = fit_mixed(laid.runs, _start(laid, given.fitted, given.repeatability.sd))
    if mixed is None or not np.all(np.linalg.eigvalsh(mixed.covariance) > 0):
        return given
    fitted = _refilled(given.fitted, laid, mixed, independent, given.repeatability.sd, numbers)
    shares = fitted.estimate.design.shares
    return replace(
        given,
        fitted=fitted,
        independence=independent,
        advice=advise(shares, fitted.evidence, numbers.assurance),
        run=tuple(clearing_run(shares, fitted.evidence, numbers.assurance)),
        stopped_runs_forbid_clears=False,
        by_censored=True,
        plain=given.fitted.prediction.new_series,
    )


def _laid(singles: SingleRuns, shares: Floats) -> _Laid | None:
    """Runs at shares that enough growers timed; None where timed runs alone can't tell the shares apart."""
    keep = _tellable(singles, shares)
    if not keep.any():
        return None
    runs = singles.chosen(keep)
    order, series, member, _ = nest(runs.series, runs.member, runs.member)
    runs = runs.chosen(order)
    used = np.unique(runs.share[runs.share != 0])
    X = (runs.share[:, None] == used[None, :]).astype(np.float64)
    dummies = (series[:, None] == np.arange(len(member))[None, :]).astype(np.float64)
    seen = ~runs.stopped
    timed = np.column_stack([X, dummies])[seen]
    if np.linalg.matrix_rank(timed) < timed.shape[1]:
        return None
    level, x = (runs.share != 0).astype(np.float64), runs.share / 100.0
    laid = StoppedRuns(
        runs.log_rate, runs.stopped, X, _centred(level, series), _centred(x, series), series, member
    )
    first = np.searchsorted(series, np.searchsorted(member, np.arange(int(member[-1]) + 1)))
    return _Laid(laid, used, runs.member[first], _told(runs, series, member, used))


def _tellable(singles: SingleRuns, shares: Floats) -> Flags:
    """Runs of series with two mixes and a timed run, at the baseline or at shares that 3 growers timed."""
    seen = ~singles.stopped
    timed = [
        float(share)
        for share in shares
        if len(np.unique(singles.member[seen & (singles.share == share)])) >= NEEDED_FOR_MEAN
    ]
    keep = np.isin(singles.share, [0.0, *timed])
    for _ in range(2):
        for series in np.unique(singles.series[keep]):
            rows = keep & (singles.series == series)
            if not (rows & seen).any() or len(np.unique(singles.share[rows])) < 2:
                keep = keep & ~rows
    return keep


def _centred(column: Floats, series: Whole) -> Floats:
    return np.asarray(column - (np.bincount(series, weights=column) / np.bincount(series))[series])


def _told(runs: SingleRuns, series: Whole, member: Whole, shares: Floats) -> Flags:
    """(member, share): the member has, in one series, a baseline and the share, at least one of the two timed."""
    informative = np.zeros((int(member[-1]) + 1, len(shares)), dtype=bool)
    for number in range(len(member)):
        inside = series == number
        base = inside & (runs.share == 0)
        if not base.any():
            continue
        for column, share in enumerate(shares):
            mixes = inside & (runs.share == share)
            if mixes.any() and not runs.stopped[base | mixes].all():
                informative[member[number], column] = True
    return informative


def _start(laid: _Laid, fitted: Fitted, sd: float) -> Point:
    """Where to start: the plain model's means and spreads."""
    design, fit, runs = fitted.estimate.design, fitted.estimate.fit, laid.runs
    means = fitted.estimate.mean[np.searchsorted(design.shares, laid.shares)]
    rest = runs.y - runs.X @ means
    several = bool(np.any(np.bincount(runs.member) > 1))
    return Point(
        means=means,
        intercepts=np.bincount(runs.series, weights=rest) / np.bincount(runs.series),
        sd=float(np.sqrt(sd**2 + fit.variance("mix"))) or START_SPREAD,
        level=max(START_SPREAD, float(np.sqrt(fit.variance("member_0")))),
        series=max(START_SPREAD, float(np.sqrt(fit.variance("series_0")))) if several else None,
        slope=max(START_SPREAD, float(np.sqrt(fit.variance("member_1")))) if len(laid.shares) > 1 else None,
    )


def _spreads(
    spreads: Floats, start: Point, x: Floats, pot_variance: float, widen: float
) -> tuple[Floats, Floats]:
    """(between growers, within growers) variances of a new series at shares x from log spreads (residual, level, …)."""
    squares = np.exp(2.0 * spreads)
    between = np.full(len(x), squares[1])
    if start.slope is not None:
        between = between + squares[-1] * x**2
    series = squares[2] if start.series is not None else 0.0
    within = np.full(len(x), series + 2.0 * max(float(squares[0]) - pot_variance, 0.0))
    return widen * between, within


def _refilled(
    plain: Fitted, laid: _Laid, mixed: MixedFit, independent: Independence, sd: float, numbers: Numbers
) -> Fitted:
    """The fitted answer with every figure from the censored likelihood; shares it lacks are unknown."""
    shares = plain.estimate.design.shares
    columns = np.searchsorted(shares, laid.shares)
    unit = np.array([independent.unit[int(code)] for code in laid.member_code], dtype=np.int64)
    members = laid.runs.members
    widen = members / max(members - 1, 1)
    p, x = len(laid.shares), laid.shares / 100.0

    def spread(shared: Floats, pot_variance: float) -> Floats:
        between, within = _spreads(shared[p:], mixed.point, x, pot_variance, widen)
        return between + within

    def full(values: Floats, missing: float) -> Floats:
        wide = np.full(len(shares), missing)
        wide[columns] = values
        return wide

    units = full(_units(laid.informative, unit, np.ones(members, dtype=bool)), 0.0)
    error = np.sqrt(np.diag(mixed.covariance))
    mean = full(mixed.point.means, np.nan)
    estimated = replace(
        plain.estimate,
        mean=mean,
        error=full(error, np.nan),
        spread=full(spread(mixed.shared, sd**2), np.nan),
        units=units.astype(np.int64),
    )
    new_series = NewSeries(mean, np.sqrt(estimated.error**2 + estimated.spread), units - 1.0)
    wider = NewSeries(
        mean, np.sqrt(estimated.error**2 + full(spread(mixed.shared, 0.25 * sd**2), np.nan)), units - 1.0
    )
    leave_one_out = _leave_one_out(plain, laid, mixed, independent, unit, full, spread, sd)
    prediction = _predicted(new_series, mixed, full, sd, numbers.target_ratio)
    others = (wider,)
    in_fit = len(np.unique(unit[laid.informative.any(axis=1)]))
    evidence = replace(
        weigh(prediction, leave_one_out, others, estimated, False, numbers.target_ratio, numbers.assurance),
        units_in_fit=in_fit,
    )
    between, within = _spreads(
        mixed.shared[p:], mixed.point, np.array([numbers.reference_share / 100.0]), sd**2, widen
    )
    typical = typical_sampling_variance(plain.estimate.fit.layout)
    total = float(between[0] + within[0])
    spreads = Heterogeneity(float(np.sqrt(between[0])), float(np.sqrt(within[0])), total / (total + typical))
    return Fitted(
        estimated,
        prediction,
        leave_one_out,
        others,
        evidence,
        spreads,
        tuple(share_verdicts(evidence, numbers.assurance)),
    )


def _units(informative: Flags, unit: Whole, kept: Flags) -> Floats:
    return np.array(
        [len(np.unique(unit[kept & informative[:, column]])) for column in range(informative.shape[1])],
        dtype=np.float64,
    )


def _leave_one_out(
    plain: Fitted,
    laid: _Laid,
    mixed: MixedFit,
    independent: Independence,
    unit: Whole,
    full: Fill,
    spread: Callable[[Floats, float], Floats],
    sd: float,
) -> LeaveOneOut:
    """Every refit without one set, by one Newton step from the full maximum."""
    sets = sets_left_out(independent, laid.member_code)
    p, count = len(laid.shares), len(plain.estimate.design.shares)
    mean, deviation = np.zeros((len(sets), count)), np.zeros((len(sets), count))
    units = np.zeros((len(sets), count))
    for row, left in enumerate(sets):
        shared, covariance = mixed.without(left.members)
        kept = np.ones(laid.runs.members, dtype=bool)
        kept[left.members] = False
        mean[row] = full(shared[:p], np.nan)
        width = np.diag(covariance) + spread(shared, sd**2)
        deviation[row] = full(np.sqrt(np.maximum(width, 0.0)), np.nan)
        units[row] = full(_units(laid.informative, unit, kept), 0.0)
    nothing = Refits(np.zeros((0, 0)), np.zeros((0, 0)), np.zeros((0, 0, 0)), np.zeros(0), True)
    without = Without(
        mean, deviation, deviation**2, units.astype(np.int64), units.max(axis=1).astype(np.int64), nothing
    )
    new_series = NewSeries(mean, deviation, units - 1.0)
    return LeaveOneOut(
        tuple(left.kind for left in sets), tuple(left.codes for left in sets), without, new_series
    )


def _predicted(
    new_series: NewSeries, mixed: MixedFit, full: Fill, sd: float, target_ratio: float
) -> Prediction:
    """Intervals and probabilities; the mean's interval is robust by member, never narrower than the model's own."""
    robust = np.sqrt(np.maximum(np.diag(mixed.robust), 0.0))
    own = np.sqrt(np.diag(mixed.covariance))
    degrees = np.maximum(new_series.degrees, 1.0)
    half = np.maximum(t_quantile(degrees) * full(robust, np.nan), NORMAL_95 * full(own, np.nan))
    reach = t_quantile(degrees) * new_series.deviation
    pot = NewSeries(new_series.mean, np.sqrt(new_series.deviation**2 + 2.0 * sd**2), new_series.degrees)
    return Prediction(
        new_series=new_series,
        robust=Robust(np.diag(full(robust, np.nan) ** 2), degrees, len(mixed.scores)),
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

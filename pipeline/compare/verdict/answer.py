"""One answer: one component, base, grade and pour state, from cells to verdicts. Arrays in, values out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.contrasts.cells import Cells
from pipeline.compare.contrasts.effects import Effects, connected_rows, contrast
from pipeline.compare.contrasts.independence import Independence, Ties, independence
from pipeline.compare.contrasts.repeatability import Repeatability
from pipeline.compare.model.design import Design, headline_design
from pipeline.compare.model.estimate import Estimate, estimate, members_at
from pipeline.compare.model.heterogeneity import Heterogeneity, heterogeneity
from pipeline.compare.model.prediction import (
    NEEDED_FOR_MEAN,
    NEEDED_IN_FIT,
    NewSeries,
    Prediction,
    predict,
    units_in_fit,
)
from pipeline.compare.model.reml import Fit
from pipeline.compare.posterior.claims import pot_errors_to_try
from pipeline.compare.verdict.chances import Chances, Stated, spread_chances, stated
from pipeline.compare.verdict.leave_one_out import (
    LeaveOneOut,
    based_only,
    leave_one_out_refits,
    refit_at_shares,
)
from pipeline.compare.verdict.verdicts import Advice, Evidence, advise, clearing_run, share_verdicts
from pipeline.compare.wording import counted
from schemas.trade.verdicts import ANY_GROWER, TOO_FEW

SMALLEST_POT_VARIANCE = 1e-8
LARGEST_STOPPED_FRACTION = 0.05


@dataclass(frozen=True)
class Numbers:
    """The club's own numbers that an answer rests on."""

    target_ratio: float
    assurance: float
    reference_share: float
    against: float = 0.0


@dataclass(frozen=True)
class Fitted:
    """What a model gave, where growers were enough for one. prediction: what the estimate alone says; chances, stated:
    what is stated of a new grower's series."""

    estimate: Estimate
    prediction: Prediction
    chances: Chances
    stated: Stated
    leave_one_out: LeaveOneOut
    others: tuple[NewSeries, ...]
    evidence: Evidence
    heterogeneity: Heterogeneity
    verdicts: tuple[str, ...]


@dataclass(frozen=True)
class Answer:
    """Everything one subset of the pool says. `fitted` is None where growers are too few; then `why` says so.
    stopped_runs_forbid_clears: too many clocks were stopped for the plain model; by_censored: the censored likelihood
    decided instead; plain: what the plain model said then; target_ratio: that the chances are of; plain_prediction:
    of the estimate that stopped runs do not enter."""

    cells: Cells
    effects: Effects
    repeatability: Repeatability
    independence: Independence | None
    fitted: Fitted | None
    advice: Advice
    run: tuple[float, ...]
    stopped_runs_forbid_clears: bool
    why: str
    by_censored: bool = False
    target_ratio: float = 1.25
    plain_prediction: Prediction | None = None
    plain: NewSeries | None = None

    @property
    def kept_back_by_clocks(self) -> bool:
        """Whether it is stopped clocks, not too few growers, that keep a verdict back."""
        return self.stopped_runs_forbid_clears and len(np.unique(self.cells.member)) >= NEEDED_IN_FIT

    @property
    def scope(self) -> str:
        """Whom the answer is for."""
        return ANY_GROWER if self.independence is None else self.independence.scope


def answer(cells: Cells, ties: Ties, repeatability: Repeatability, numbers: Numbers) -> Answer:
    """The comparison of these cells."""
    effects = connected(cells, repeatability.sd)
    stopped_runs_forbid_clears = too_many_stopped(cells)
    based = effects.chosen(effects.based)
    if not len(based):
        return _without_model(
            cells,
            effects,
            repeatability,
            None,
            stopped_runs_forbid_clears,
            _why_no_contrast(cells, numbers.against),
        )
    independent = independence(
        [int(member) for member in effects.member], ties, [int(member) for member in based.member]
    )
    design = headline_design(effects, independent)
    if members_at(design).max(initial=0) < NEEDED_FOR_MEAN or len(effects) <= design.layout.X.shape[1]:
        growers = set(based.member.tolist())
        apart = len({independent.group.get(member, member) for member in growers})
        tied = "" if apart == len(growers) else f"; those who share a test day or a bag count once: {apart}"
        why = (
            f"No share was measured by {NEEDED_FOR_MEAN} growers with a baseline of their own "
            f"({len(growers)} in all{tied}), so nothing is pooled."
        )
        if stopped_runs_forbid_clears and len(np.unique(cells.member)) >= NEEDED_IN_FIT:
            why = f"Nothing is pooled: {stopped_sentence(cells)}"
        return _without_model(cells, effects, repeatability, independent, stopped_runs_forbid_clears, why)
    fitted = _fitted(cells, design, independent, repeatability, numbers, stopped_runs_forbid_clears)
    shares = design.shares
    return Answer(
        cells=cells,
        effects=design.effects,
        repeatability=repeatability,
        independence=independent,
        fitted=fitted,
        advice=advise(shares, fitted.evidence, numbers.assurance),
        run=tuple(clearing_run(shares, fitted.evidence, numbers.assurance)),
        stopped_runs_forbid_clears=stopped_runs_forbid_clears,
        why="",
        target_ratio=numbers.target_ratio,
        plain_prediction=fitted.prediction,
    )


def connected(cells: Cells, sd: float) -> Effects:
    """Contrasts of these cells that hang together with a baseline."""
    effects = contrast(cells, max(sd**2, SMALLEST_POT_VARIANCE))
    return effects.chosen(connected_rows(effects))


def _without_model(
    cells: Cells,
    effects: Effects,
    repeatability: Repeatability,
    independent: Independence | None,
    stopped_runs_forbid_clears: bool,
    why: str,
) -> Answer:
    return Answer(
        cells,
        effects,
        repeatability,
        independent,
        None,
        Advice(TOO_FEW, None, None),
        (),
        stopped_runs_forbid_clears,
        why,
    )


def _why_no_contrast(cells: Cells, against: float) -> str:
    if not len(cells.series):
        return "No test of this kind has been received yet."
    if against:
        stopped = np.any(cells.stopped[cells.merged == 0] > 0)
        why = "every test of it was stopped before the water was out" if stopped else "no series holds both"
        return f"Nothing can be set beside {against:g} %: {why}."
    if not np.any(cells.merged == 0):
        return "No series has a baseline mix, so nothing can be set beside straight base."
    if not np.any(cells.merged != 0):
        return "Only baseline mixes were tested, so there is nothing to set beside them."
    if np.any(cells.stopped > 0) and not np.any(cells.timed & (cells.merged == 0)):
        return f"Every baseline test was stopped, so no ratio is known: {stopped_sentence(cells)}"
    return "No series holds both a timed baseline and a timed mix."


def stopped_sentence(cells: Cells) -> str:
    """Why stopped clocks forbid a verdict, how many there were, and what would help."""
    stopped = int(cells.stopped.sum())
    runs = stopped + int(cells.pots.sum())
    clocks = "1 clock was" if stopped == 1 else f"{stopped} clocks were"
    return (
        f"{clocks} stopped before the water was out, of {counted(runs, 'run')}, and that forbids a verdict at any share. "
        "A longer limit on the clock or a smaller pour would help."
    )


def too_many_stopped(cells: Cells) -> bool:
    """Whether runs stopped early forbid the plain model to decide: a right-censored baseline in a series with mixes, or more
    than 5 % of mix cells censored (methods note, section 8.4)."""
    mixes = cells.merged != 0
    with_mixes = np.isin(cells.series, cells.series[mixes])
    baseline = (cells.merged == 0) & (cells.stopped > 0) & with_mixes
    return bool(baseline.any()) or bool(
        (cells.stopped[mixes] > 0).sum() > LARGEST_STOPPED_FRACTION * max(int(mixes.sum()), 1)
    )


def few_stopped_baselines(cells: Cells) -> bool:
    """Whether baselines were stopped in fewer than 5 % of the series with mixes, and as few mixes (methods note, 8.7)."""
    mixes = cells.merged != 0
    with_mixes = np.unique(cells.series[mixes])
    baseline = (cells.merged == 0) & (cells.stopped > 0) & np.isin(cells.series, with_mixes)
    series = len(np.unique(cells.series[baseline]))
    few_mixes = (cells.stopped[mixes] > 0).sum() <= LARGEST_STOPPED_FRACTION * max(int(mixes.sum()), 1)
    return bool(series < LARGEST_STOPPED_FRACTION * max(len(with_mixes), 1) and few_mixes)


def _fitted(
    cells: Cells,
    design: Design,
    independent: Independence,
    repeatability: Repeatability,
    numbers: Numbers,
    stopped_runs_forbid_clears: bool,
) -> Fitted:
    estimated = estimate(design)
    prediction = predict(estimated, repeatability.sd**2, numbers.target_ratio)
    leave_one_out = leave_one_out_refits(estimated, independent)
    others = _other_refits(cells, design, independent, repeatability, estimated.fit)
    chances = spread_chances(
        estimated,
        prediction,
        independent,
        repeatability.sd**2,
        numbers.target_ratio,
        numbers.reference_share,
    )
    evidence = weigh(
        chances,
        leave_one_out,
        others,
        estimated,
        stopped_runs_forbid_clears,
        numbers.target_ratio,
        numbers.assurance,
    )
    return Fitted(
        estimated,
        prediction,
        chances,
        stated(chances, numbers.target_ratio, chances.p_all),
        leave_one_out,
        others,
        evidence,
        heterogeneity(estimated, numbers.reference_share),
        tuple(share_verdicts(evidence, numbers.assurance)),
    )


def weigh(
    chances: Chances,
    leave_one_out: LeaveOneOut,
    others: tuple[NewSeries, ...],
    estimated: Estimate,
    stopped_runs_forbid_clears: bool,
    target_ratio: float,
    assurance: float,
) -> Evidence:
    """What the fit and all refits say about this target and assurance."""
    holds = np.array(chances.clears(target_ratio, assurance), dtype=bool)
    with np.errstate(invalid="ignore"):
        by_growers = np.all(leave_one_out.new_series.above(target_ratio) >= assurance, axis=0)
        for other in others:
            holds &= other.above(target_ratio) >= assurance
    return Evidence(
        chances.above(target_ratio),
        by_growers,
        holds,
        estimated.units,
        units_in_fit(estimated.design),
        stopped_runs_forbid_clears,
    )


def _other_refits(
    cells: Cells, design: Design, independent: Independence, repeatability: Repeatability, near: Fit
) -> tuple[NewSeries, ...]:
    """Refits without difference-only series and, where it was assumed, with half and with twice the repeatability."""
    tried = [based_only(design.effects)]
    for times in pot_errors_to_try(not repeatability.measured, cells.pots, cells.member):
        tried.append(connected(cells, times * repeatability.sd))
    return tuple(
        refit_at_shares(other, independent, design.shares, near) for other in tried if other is not None
    )


def reached_best(fitted: Fitted) -> tuple[float, float] | None:
    """(share, p_clears) of the supported share that comes nearest to the assurance."""
    good = [j for j, verdict in enumerate(fitted.verdicts) if verdict != TOO_FEW]
    if not good:
        return None
    best = max(good, key=lambda j: float(fitted.stated.p_clears[j]))
    return float(fitted.estimate.design.shares[best]), float(fitted.stated.p_clears[best])

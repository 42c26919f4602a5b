"""Where runs stopped early would bias the plain model, the censored mixed likelihood gives the answer instead.

Mean, spread, probabilities, leave-one-out refits and the small-share test then come from it; the plain model is the
check beside it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pipeline.compare.contrasts.cells import SingleRuns
from pipeline.compare.contrasts.independence import Ties, independence
from pipeline.compare.stopped.design import StoppedDesign, stopped_design
from pipeline.compare.stopped.figures import CensoredAnswer, censored_figures
from pipeline.compare.stopped.mixed_fit import fit_mixed
from pipeline.compare.stopped.mixed_likelihood import Point
from pipeline.compare.verdict.answer import Answer, Fitted, Numbers
from pipeline.compare.verdict.verdicts import advise, clearing_run

START_SPREAD = 0.1


def answer_by_stopped_runs(given: Answer, singles: SingleRuns, ties: Ties, numbers: Numbers) -> Answer:
    """The answer by the censored likelihood where stopped runs forbid the plain one; unchanged where it can't be fitted
    (then no share clears and the reason stands in `why`)."""
    if not given.stopped_runs_forbid_clears or given.fitted is None:
        return given
    laid = stopped_design(singles, given.fitted.estimate.design.shares)
    if laid is None:
        return given
    counted = laid.member_code[laid.informative.any(axis=1)].tolist()
    independent = independence(laid.member_code.tolist(), ties, counted)
    if independent.block is not None or independent.offsets is not None:
        return given
    mixed = fit_mixed(laid.runs, _start(laid, given.fitted, given.repeatability.sd))
    if mixed is None or not np.all(np.linalg.eigvalsh(mixed.covariance) > 0):
        return given
    fitted = censored_figures(
        CensoredAnswer(given.fitted, laid, mixed, independent, given.repeatability.sd), numbers
    )
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


def _start(laid: StoppedDesign, fitted: Fitted, sd: float) -> Point:
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

"""Where runs stopped early would bias the plain model, the likelihood with a random level gives the answer instead.

Mean, spread, chances, leave-one-out refits and the small-share test then come from it, in two readings; the plain model is
the check beside it, and has to agree where few baselines were stopped (methods note, section 8).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pipeline.compare.contrasts.cells import SingleRuns
from pipeline.compare.contrasts.independence import Ties
from pipeline.compare.random_level.reading import two_readings
from pipeline.compare.stopped.design import stopped_design
from pipeline.compare.stopped.figures import StoppedFit, stopped_figures
from pipeline.compare.verdict.answer import SMALLEST_POT_VARIANCE, Answer, Numbers, few_stopped_baselines
from pipeline.compare.verdict.verdicts import advise, clearing_run


def answer_by_stopped_runs(given: Answer, singles: SingleRuns, ties: Ties, numbers: Numbers) -> Answer:
    """The answer by the likelihood of stopped runs where they forbid the plain one; unchanged where it can't be fitted
    (then no share clears and the reason stands in `why`)."""
    if not given.stopped_runs_forbid_clears or given.fitted is None:
        return given
    shares = given.fitted.estimate.design.shares
    counted = replace(singles, share=np.round(singles.share - numbers.against, 6))
    run_variance = max(given.repeatability.sd**2, SMALLEST_POT_VARIANCE)
    design = stopped_design(counted, shares, ties, run_variance)
    readings = None if design is None else two_readings(design.pool, design.unit, run_variance)
    if design is None or readings is None or not np.all(np.diag(readings.fit.covariance) > 0):
        return given
    also = given.fitted if few_stopped_baselines(given.cells) else None
    fitted = stopped_figures(StoppedFit(given, given.fitted, design, readings), numbers, also)
    return replace(
        given,
        fitted=fitted,
        independence=design.independent,
        advice=advise(shares, fitted.evidence, numbers.assurance),
        run=tuple(clearing_run(shares, fitted.evidence, numbers.assurance)),
        stopped_runs_forbid_clears=False,
        by_censored=True,
        plain=given.fitted.prediction.new_series,
    )

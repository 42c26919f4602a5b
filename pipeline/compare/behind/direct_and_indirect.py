"""Do series without a baseline agree with those that have one? Direct and indirect evidence apart, then compared."""

from __future__ import annotations

import numpy as np
from scipy.special import stdtr

from pipeline.compare.model.design import headline_design
from pipeline.compare.model.estimate import estimate
from pipeline.compare.model.robust import cluster_robust
from pipeline.compare.verdict.answer import Answer
from schemas.results.details import EvidenceValue

NEEDED_DEGREES = 4.0


def evidence_value(given: Answer) -> EvidenceValue:
    """How many series take part by differences, and the ratio between their slope and that of the others.

    The model is the headline with one more column: x - x0 in difference-only series. Its coefficient is 0 where both
    kinds of evidence agree.
    """
    effects = given.effects
    indirect = ~effects.based
    series = len(np.unique(effects.series[indirect]))
    value: EvidenceValue = {
        "series_by_differences": series,
        "members_by_differences": len(np.unique(effects.member[indirect])),
        "slope_difference": None,
        "p": None,
    }
    if not series:
        return {**value, "why": "Every series has a baseline of its own."}
    if given.fitted is None or given.independence is None or series < 3:
        return {**value, "why": "Too few series without a baseline to compare."}
    extra = np.where(indirect, (effects.share - effects.reference) / 100.0, 0.0)[:, None]
    design = headline_design(effects, given.independence, extra=extra)
    if np.linalg.matrix_rank(design.layout.X) < design.layout.X.shape[1]:
        return {**value, "why": "These series share too few shares with the others to compare."}
    estimated = estimate(design)
    robust = cluster_robust(estimated.fit, design.unit[design.layout.row_member])
    index = len(design.shares) + design.offsets
    b, error = float(estimated.fit.coefficients[index]), float(robust.standard_errors[index])
    value["slope_difference"] = b
    if robust.degrees[index] < NEEDED_DEGREES or error == 0.0:
        return {**value, "why": "Too few growers to test whether they agree."}
    value["p"] = float(2.0 * stdtr(robust.degrees[index], -abs(b) / error))
    return value

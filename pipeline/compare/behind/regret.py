"""The share of least expected regret, for a club that says how it weighs too little against too much. Off until it does.

Regret of a share: the weight of too little times how far (ln) a new grower's series stays below the target, plus the
weight of too much times how far it lies above, averaged over the posterior. Description; no verdict uses it.
"""

from __future__ import annotations

import numpy as np

from pipeline.compare.posterior.claims import expected_regret, least_regret
from pipeline.compare.verdict.answer import Answer
from pipeline.compare.verdict.chances import SpreadChances
from pipeline.compare.verdict.verdicts import supported
from schemas.results.details import RegretValue


def regret_value(given: Answer, too_little: float, too_much: float) -> RegretValue:
    """Expected regret of every supported share, and the smallest share where it is least; None without weights."""
    if too_little <= 0 or too_much <= 0:
        return _nothing("The club has set no weights for too little and too much.")
    if given.fitted is None:
        return _nothing(given.why)
    chances, known = given.fitted.chances, np.flatnonzero(supported(given.fitted.evidence))
    if not len(known):
        return _nothing("No share was measured by enough growers.")
    if not isinstance(chances, SpreadChances):
        return _nothing("Clocks were stopped: expected regret is not worked out.")
    if chances.clubs is None:
        regret = expected_regret(chances.companion.series, given.target_ratio, too_little, too_much)
    else:
        each = chances.clubs.series
        regret = np.array(
            [expected_regret(series, given.target_ratio, too_little, too_much)[0] for series in each]
        )
    shares = given.fitted.estimate.design.shares[known]
    return {
        "share": least_regret([float(share) for share in shares], regret[known]),
        "shares": [
            {"share": float(share), "regret": float(value)}
            for share, value in zip(shares, regret[known], strict=True)
        ],
    }


def _nothing(why: str) -> RegretValue:
    return {"share": None, "shares": [], "why": why}

"""Do small shares slow a mix? One one-sided test per share fixed before the month, with what is ruled out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.special import stdtr

from pipeline.compare.arrays import Floats
from pipeline.compare.behind.moderators import (
    NEEDED_DEGREES,
    NEEDED_PER_SIDE,
    Shift,
    holm,
    judged,
    shift_value,
)
from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Independence
from pipeline.compare.model.design import headline_design
from pipeline.compare.model.estimate import estimate, t_quantile
from pipeline.compare.model.robust import cluster_robust
from pipeline.compare.verdict.answer import Answer, Fitted
from schemas.results.details import ContrastLine, SmallShareLine, SmallSharesValue
from schemas.trade.shares import joins

SMALL_UP_TO = 25.0
MEMBERS_FOR_A_TEST = 5


def small_shares_value(
    given: Answer, settled: Answer, wanted: Sequence[float], screened: Floats
) -> SmallSharesValue:
    """A line per small share (settings; default all up to 25 %) of fresh and of settled pots, Holm over all of them, and
    the difference by setup in fresh ones.

    `screened`: 1 per series held on a screen, 0 open, by series number. Only moist starts stand in the headline.
    """
    lines, in_settled = _lines(given, wanted), _lines(settled, wanted)
    every = [*lines, *in_settled]
    for line, adjusted in zip(every, holm([line["p_slower"] for line in every]), strict=True):
        line["p_slower"] = adjusted
    if given.fitted is None or given.independence is None:
        return {"shares": [], "settled": in_settled, "why": given.why}
    value: SmallSharesValue = {
        "shares": lines,
        "settled": in_settled,
        "by_setup": _by_setup(given.effects, given.independence, screened),
    }
    if not lines:
        value["why"] = "No small share was measured by enough growers."
    return value


def _lines(given: Answer, wanted: Sequence[float]) -> list[SmallShareLine]:
    """A line per small share of one pour state, p not yet adjusted."""
    fitted = given.fitted
    if fitted is None:
        return []
    return [
        _line(fitted, j, given.stopped_runs_forbid_clears)
        for j, share in enumerate(fitted.estimate.design.shares)
        if _is_small(float(share), wanted) and np.isfinite(fitted.estimate.mean[j])
    ]


def _is_small(share: float, wanted: Sequence[float]) -> bool:
    if not wanted:
        return share <= SMALL_UP_TO
    return any(joins(share, small) for small in wanted)


def _line(fitted: Fitted, j: int, stopped_runs_forbid_clears: bool) -> SmallShareLine:
    """One-sided CR2 t for a ratio below 1; the slowing ruled out is the lower end of the one-sided 95 % interval."""
    estimated, robust = fitted.estimate, fitted.prediction.robust
    line: SmallShareLine = {
        "share": float(estimated.design.shares[j]),
        "ratio": float(np.exp(estimated.mean[j])),
        "p_faster": _finite(fitted.stated.p_faster[j]),
        "p_slower": None,
        "slower_than_ruled_out": None,
        "members": int(estimated.units[j]),
    }
    few = "Too few growers to test."
    if robust is None or robust.degrees[j] < NEEDED_DEGREES or estimated.units[j] < MEMBERS_FOR_A_TEST:
        line["why"] = few
        return line
    error = max(float(robust.standard_errors[j]), float(estimated.error[j]))
    degrees = float(robust.degrees[j])
    line["slower_than_ruled_out"] = float(
        np.exp(estimated.mean[j] - float(t_quantile(np.array(degrees), 0.95)) * error)
    )
    if stopped_runs_forbid_clears:
        line["why"] = "Tests stopped before the water was out forbid this test."
        return line
    line["p_slower"] = float(stdtr(degrees, float(estimated.mean[j]) / error))
    return line


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _by_setup(effects: Effects, independent: Independence, screened: Floats) -> ContrastLine:
    """How the small shares' ratio on a screen compares with that in open holders: one shift, with its interval."""
    values = screened[effects.series]
    known = np.asarray(np.isfinite(values))
    effects, values = effects.chosen(known), values[known]
    small = (effects.share <= SMALL_UP_TO).astype(np.float64) - (
        (effects.reference > 0) & (effects.reference <= SMALL_UP_TO)
    )
    units = np.array([independent.unit[int(member)] for member in effects.member], dtype=np.int64)
    at_small = effects.share <= SMALL_UP_TO
    both = sum(len(np.unique(values[at_small & (units == unit)])) > 1 for unit in np.unique(units))
    nothing = Shift(
        "small_shares_screened",
        "small shares on a screen beside open holders",
        None,
        None,
        None,
        None,
        None,
        len(np.unique(units[at_small])),
        both,
        "Too few growers tested small shares in each kind of holder.",
    )
    sides = [len(np.unique(units[at_small & (values == side)])) for side in (0.0, 1.0)]
    if min(sides) < NEEDED_PER_SIDE:
        return shift_value(nothing, None)
    design = headline_design(effects, independent, extra=(values * small)[:, None])
    if np.linalg.matrix_rank(design.layout.X) < design.layout.X.shape[1]:
        return shift_value(nothing, None)
    estimated = estimate(design)
    robust = cluster_robust(estimated.fit, design.unit[design.layout.row_member])
    index = len(design.shares) + design.offsets
    shift = judged(
        nothing,
        float(estimated.fit.coefficients[index]),
        float(estimated.fit.covariance[index, index]),
        float(robust.covariance[index, index]),
        float(robust.degrees[index]),
        0,
        1,
    )
    return shift_value(shift, None)

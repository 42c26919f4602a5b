"""Where does the curve bend? A broken stick through 1 at share 0, described only; no verdict uses it.

The knot is looked for on a fine grid with the covariance of the headline fitted by ML; a second knot is kept where it
gains more than 3 in log-likelihood. The interval is the range of the knot when members are left out in turn.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pipeline.compare.arrays import Floats
from pipeline.compare.model.reduction import block_parts, member_parts
from pipeline.compare.model.reml import fit_layout
from pipeline.compare.model.rotation import reduce_layout
from pipeline.compare.verdict.answer import Answer
from schemas.results.details import BendValue

MEMBERS_NEEDED = 8
GAIN_FOR_A_SECOND = 3.0
GRID_STEPS = 25
KNOTS_APART = 4
EDGE = 0.02


def bend_value(given: Answer) -> BendValue:
    """{"knots": [percent], "interval": [low, high] of the first}, or a sentence why there is none."""
    if given.fitted is None or given.fitted.evidence.units_in_fit < MEMBERS_NEEDED:
        return _no_bend(f"Described from {MEMBERS_NEEDED} growers on.")
    design = given.fitted.estimate.design
    if len(design.shares) < 4:
        return _no_bend("A bend needs four shares or more.")
    members, knots = _member_sums(given)
    every = members.sum(axis=0, keepdims=True)
    single: list[tuple[int, ...]] = [(a,) for a in range(len(knots))]
    two: list[tuple[int, ...]] = [
        (a, b) for a in range(len(knots)) for b in range(a + KNOTS_APART, len(knots))
    ]
    by_one, by_two = _explained(every, single), _explained(every, two)
    family = two if by_two.max() - by_one.max() > GAIN_FOR_A_SECOND else single
    chosen = family[int(np.argmax(_explained(every, family)[0]))]
    without = [family[int(j)][0] for j in np.argmax(_explained(every - members, family), axis=1)]
    return {
        "knots": [100.0 * float(knots[j]) for j in chosen],
        "interval": [100.0 * float(knots[min(without)]), 100.0 * float(knots[max(without)])],
    }


def _no_bend(why: str) -> BendValue:
    return {"knots": None, "interval": None, "why": why}


def _member_sums(given: Answer) -> tuple[Floats, Floats]:
    """(cross products of [x | hinges | y] by top block under the ML covariance, knots as shares 0-1)."""
    assert given.fitted is not None  # noqa: S101 - asked by the caller
    estimated = given.fitted.estimate
    effects, layout = estimated.design.effects, estimated.fit.layout
    ml = fit_layout(layout, restricted=False)
    shares = estimated.design.shares / 100.0
    knots = np.linspace(shares[0] + EDGE, shares[-1] - EDGE, GRID_STEPS)
    x, start = effects.share / 100.0, effects.reference / 100.0
    hinges = np.maximum(x[:, None] - knots, 0.0) - np.maximum(start[:, None] - knots, 0.0)
    reduced = reduce_layout(replace(layout, X=np.column_stack([x - start, hinges])))
    parts = block_parts(reduced, ml.variances[None], member_parts(reduced, ml.variances[None]))
    return parts.matrix[0], knots


def _explained(sums: Floats, family: list[tuple[int, ...]]) -> Floats:
    """Half the weighted sum of squares that x and these hinges explain (log-likelihood up to a constant), for each
    of the sums (leading axis) and each member of the family."""
    result = np.empty((len(sums), len(family)))
    for column, hinges in enumerate(family):
        columns = [0, *(1 + j for j in hinges)]
        inside, right = sums[:, columns][:, :, columns], sums[:, columns, -1]
        ridge = 1e-9 * np.einsum("mjj->m", inside)[:, None, None] * np.eye(len(columns))
        solved = np.linalg.solve(inside + ridge, right[..., None])[..., 0]
        result[:, column] = 0.5 * np.einsum("mj,mj->m", right, solved)
    return result

"""Ratio of ratios between parts of a pool (query --by): each level beside the one most growers measured."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Independence
from pipeline.compare.model.design import headline_design
from pipeline.compare.model.estimate import NORMAL_95, estimate, t_quantile
from pipeline.compare.model.robust import cluster_robust
from schemas.results.lines import LevelLine

MEMBERS_EACH = 3


def ratio_of_ratios(
    effects: Effects, level: Whole, names: Sequence[str], independent: Independence
) -> list[LevelLine]:
    """A line per level and share: its ratio over that of the level with the most growers, 95 % interval, counts.

    `level`: number of each contrast's level in `names`. One model for all: growers who tested both levels tell the
    difference within themselves. Null with a sentence where either side has fewer than 3 growers.
    """
    effects, level = effects.chosen(effects.based), level[effects.based]
    units = np.array([independent.unit[int(member)] for member in effects.member], dtype=np.int64)
    counts = [len(np.unique(units[level == j])) for j in range(len(names))]
    if not counts or max(counts) == 0:
        return []
    reference = int(np.argmax(counts))
    pairs = [
        (j, float(share))
        for j in range(len(names))
        if j != reference
        for share in np.unique(effects.share[level == j])
    ]
    informative = [pair for pair in pairs if _both(effects, level, units, pair, reference)]
    fitted = _fitted(effects, level, pairs, informative, independent)
    return [_line(effects, level, units, names, reference, pair, fitted.get(pair)) for pair in pairs]


def _at(effects: Effects, level: Whole, j: int, share: float) -> np.ndarray:
    return np.asarray((level == j) & (effects.share == share))


def _both(effects: Effects, level: Whole, units: Whole, pair: tuple[int, float], reference: int) -> bool:
    sides = (_at(effects, level, pair[0], pair[1]), _at(effects, level, reference, pair[1]))
    return min(len(np.unique(units[side])) for side in sides) >= MEMBERS_EACH


def _fitted(
    effects: Effects,
    level: Whole,
    pairs: list[tuple[int, float]],
    informative: list[tuple[int, float]],
    independent: Independence,
) -> dict[tuple[int, float], tuple[float, float, float]]:
    """(ln ratio of ratios, low, high) of every informative pair that the model can tell. Contrasts of the other `pairs`
    are left out, so that they don't count as the reference level's."""
    extra: list[Floats] = [_at(effects, level, j, share).astype(np.float64) for j, share in informative]
    rest = [pair for pair in pairs if pair not in informative]
    keep = ~np.isin(np.arange(len(effects)), np.flatnonzero(_in_any(effects, level, rest)))
    kept = effects.chosen(np.asarray(keep))
    if not informative or len(kept) <= len(np.unique(kept.share)) + len(extra):
        return {}
    design = headline_design(kept, independent, extra=np.column_stack(extra)[keep])
    if np.linalg.matrix_rank(design.layout.X) < design.layout.X.shape[1]:
        return {}
    estimated = estimate(design)
    robust = cluster_robust(estimated.fit, design.unit[design.layout.row_member])
    start = len(design.shares) + design.offsets
    result = {}
    for position, pair in enumerate(informative):
        column = start + position
        b, degrees = float(estimated.fit.coefficients[column]), float(robust.degrees[column])
        if degrees < 1.0:
            continue
        wide = float(t_quantile(np.array(degrees))) * float(robust.standard_errors[column])
        half = max(wide, NORMAL_95 * float(np.sqrt(estimated.fit.covariance[column, column])))
        result[pair] = (b, b - half, b + half)
    return result


def _in_any(effects: Effects, level: Whole, pairs: list[tuple[int, float]]) -> np.ndarray:
    inside = np.zeros(len(effects), dtype=bool)
    for j, share in pairs:
        inside |= _at(effects, level, j, share)
    return inside


def _line(
    effects: Effects,
    level: Whole,
    units: Whole,
    names: Sequence[str],
    reference: int,
    pair: tuple[int, float],
    contrast: tuple[float, float, float] | None,
) -> LevelLine:
    here = _at(effects, level, *pair)
    there = _at(effects, level, reference, pair[1])
    line: LevelLine = {
        "level": names[pair[0]],
        "against": names[reference],
        "share": pair[1],
        "ratio_of_ratios": None,
        "ci": None,
        "members": len(np.unique(units[here])),
        "members_against": len(np.unique(units[there])),
        "members_with_both": len(np.intersect1d(units[here], units[there])),
        "series": len(np.unique(effects.series[here])),
    }
    if contrast is None or max(abs(figure) for figure in contrast) > 50.0:
        line["why"] = f"Needs {MEMBERS_EACH} growers of each kind at this share."
        return line
    line["ratio_of_ratios"] = float(np.exp(contrast[0]))
    line["ci"] = [float(np.exp(contrast[1])), float(np.exp(contrast[2]))]
    return line

"""Shifts of the levels of a split at the posterior's nodes: each level's level and slope in share, drawn towards none.

Beside the whole pool's means and spreads every level gets a shift and a slope with common standard deviations, under
half-normal priors and integrated (methods note, section 14).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import logsumexp, ndtri

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.model.design import Design
from pipeline.compare.model.rotation import reduce_layout
from pipeline.compare.posterior.companion import SpreadPosterior
from pipeline.compare.posterior.sums import plain_sums

PART_SCALE = 0.15
"""Scale of the half-normal prior on the standard deviation between levels, ln ratio, at the reference share."""
SPREAD_NODES, PART_NODES = 16, 8
"""Points that stand for the posterior of the pool's spreads, and slices of each prior between levels: answers move by
less than .005 against 24 and 12."""
LEFT_OUT_VARIANCE = 1e8
"""Pouring variance that takes a contrast out of the sums without changing their shape."""


@dataclass(frozen=True)
class Shifts:
    """Nodes of the posterior with levels: weight (node), coefficients (node, column) and covariance; the columns are
    those of the pool, then one shift and one slope for each level. spread: node of the pool each one stands on."""

    weight: Floats
    coefficients: Floats
    covariance: Floats
    spread: Whole
    sds: Floats


def part_prior(count: int, scale: float = PART_SCALE) -> tuple[Floats, Floats]:
    """Middles of equally likely slices of the half-normal prior, and their weights."""
    middles = (np.arange(count) + 0.5) / count
    return scale * np.asarray(ndtri(0.5 + 0.5 * middles)), np.full(count, 1.0 / count)


def representative(found: SpreadPosterior, count: int) -> SpreadPosterior:
    """That many equally weighted nodes in place of all, one from each equal slice of the weight, by total variance; a
    lone node stays alone."""
    count = min(count, len(found.weight))
    order = np.argsort(found.variances.sum(axis=1), kind="stable")
    reached = np.cumsum(found.weight[order])
    at = order[np.minimum(np.searchsorted(reached, (np.arange(count) + 0.5) / count), len(order) - 1)]
    return replace(
        found,
        variances=found.variances[at],
        weight=np.full(count, 1.0 / count),
        coefficients=found.coefficients[at],
        covariance=found.covariance[at],
    )


def pairs_of_sizes(x_reference: float) -> tuple[Floats, Floats]:
    """Standard deviations of shifts and slopes (pair, 2), equally likely beforehand, and the log of their weights."""
    sizes, weights = part_prior(PART_NODES)
    pairs = np.array([(a, b / x_reference) for a in sizes for b in sizes])
    return pairs, np.log(np.outer(weights, weights).ravel())


def level_shifts(
    design: Design,
    variances: Floats,
    level: Whole,
    pairs: Floats,
    log_prior: Floats,
    left_out: Flags | None = None,
) -> Shifts:
    """Posterior of means and level effects at each of these variances, equally likely beforehand, with each pair of
    standard deviations of shifts and slopes; `left_out`: contrasts that take no part."""
    effects = design.effects
    inside = (level[:, None] == np.unique(level[level >= 0])[None, :]).astype(np.float64)
    x = (effects.share - effects.reference) / 100.0
    columns = np.column_stack([inside * effects.based[:, None], inside * x[:, None]])
    own = design.layout.own_variance
    own = own if left_out is None else np.where(left_out, LEFT_OUT_VARIANCE, own)
    wide = replace(design.layout, X=np.column_stack([design.layout.X, columns]), own_variance=own)
    sums = plain_sums(reduce_layout(wide), variances)
    fixed, count = design.layout.X.shape[1], inside.shape[1]
    total = fixed + 2 * count
    precision = np.zeros((len(pairs), total))
    precision[:, fixed:] = np.repeat(1.0 / pairs**2, count, axis=1)
    information = sums.matrix[:, None, :total, :total] + precision[None, :, :, None] * np.eye(total)
    right = sums.matrix[:, None, :total, total]
    covariance = np.linalg.inv(information)
    coefficients = (covariance @ right[..., None])[..., 0]
    fitted = np.einsum("npk,nk->np", coefficients, right[:, 0])
    log_size = np.linalg.slogdet(information)[1] + 2.0 * count * np.log(pairs).sum(axis=1)
    value = -0.5 * (sums.log_determinant[:, None] + sums.matrix[:, None, total, total] - fitted + log_size)
    plain = _without_levels(sums.matrix, sums.log_determinant, fixed)
    log_weight = (value - plain[:, None] + log_prior).ravel()
    nodes = len(variances)
    return Shifts(
        weight=np.exp(log_weight - logsumexp(log_weight)),
        coefficients=coefficients.reshape(-1, total),
        covariance=np.asarray(covariance).reshape((-1, total, total)),
        spread=np.repeat(np.arange(nodes), len(pairs)),
        sds=np.tile(pairs, (nodes, 1)),
    )


def _without_levels(matrix: Floats, log_determinant: Floats, fixed: int) -> Floats:
    """Log-likelihood of each node without level effects: what its weight already holds."""
    information, right, square = matrix[:, :fixed, :fixed], matrix[:, :fixed, -1], matrix[:, -1, -1]
    solved = np.linalg.solve(information, right[..., None])[..., 0]
    rest = square - np.einsum("nk,nk->n", right, solved)
    return np.asarray(-0.5 * (log_determinant + np.linalg.slogdet(information)[1] + rest))

"""The chance that jointly normal values all lie below their bounds, with their mean and covariance given that.

Sequential conditioning (Genz 1992; the same is Geweke, Hajivassiliou and Keane's simulator; from memory) on a fixed
low-discrepancy sequence, many blocks side by side. With one bound the answer is exact.
"""

from __future__ import annotations

import numpy as np
from scipy.special import log_ndtr, logsumexp, ndtri_exp

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.posterior.nodes import even_points


def below(
    bound: Floats, covariance: Floats, points: int, values: Whole | None = None
) -> tuple[Floats, Floats, Floats]:
    """(log chance, mean, covariance below the bounds) of normal values with mean 0; bound (block, value). `values` says
    how many of each block's values are bounded; those behind them are padding, independent of them."""
    blocks, count = bound.shape
    if not count:
        return np.zeros(blocks), np.zeros((blocks, 0)), np.zeros((blocks, 0, 0))
    lower = np.linalg.cholesky(covariance)
    uniform = np.abs(2.0 * even_points(points, count) - 1.0)
    log_uniform = np.log(np.clip(uniform, 1e-12, 1.0 - 1e-12))
    drawn = np.zeros((blocks, points, count))
    log_weight = np.zeros((blocks, points))
    for j in range(count):
        at = np.arange(blocks) if values is None else np.flatnonzero(values > j)
        known = (drawn[at, :, :j] @ lower[at, j, :j, None])[:, :, 0]
        log_part = log_ndtr((bound[at, j, None] - known) / lower[at, j, j, None])
        log_weight[at] += log_part
        drawn[at, :, j] = ndtri_exp(log_uniform[:, j] + log_part)
    total = logsumexp(log_weight, axis=1)
    weight = np.exp(log_weight - total[:, None])
    mean = (weight[:, None, :] @ drawn)[:, 0]
    away = drawn - mean[:, None, :]
    inner = np.swapaxes(away * weight[:, :, None], 1, 2) @ away
    return (
        np.asarray(total - np.log(points)),
        np.einsum("bjk,bk->bj", lower, mean),
        np.asarray(lower @ inner @ np.swapaxes(lower, 1, 2)),
    )

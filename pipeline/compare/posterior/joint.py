"""The chance that all of several normal values are above 0, from the last one back, by conditioning one on the next.

Genz's sequential conditioning (Genz 1992, from memory) on a fixed low-discrepancy sequence, averaged over nodes.
"""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr, ndtri

from pipeline.compare.arrays import Flags, Floats
from pipeline.compare.posterior.nodes import even_points

POINTS = 16
SMALLEST, JITTER = 1e-300, 1e-12


def chance_of_all(weight: Floats, mean: Floats, covariance: Floats, counted: Flags | None = None) -> Floats:
    """Per value: the chance that it and every later one are above 0; weight (node), mean (node, value), covariance
    (node, value, value). Only `counted` values take part; the others get NaN."""
    if counted is not None and not counted.all():
        result = np.full(mean.shape[1], np.nan)
        if counted.any():
            inner = covariance[:, counted][:, :, counted]
            result[counted] = chance_of_all(weight, mean[:, counted], inner)
        return result
    nodes, count = mean.shape
    backwards = mean[:, ::-1]
    size = np.einsum("njj->nj", covariance)[:, ::-1]
    lower = np.linalg.cholesky(covariance[:, ::-1, ::-1] + JITTER * size[:, :, None] * np.eye(count))
    points = even_points(nodes * POINTS, max(count, 1)).reshape(nodes, POINTS, -1)
    drawn = np.zeros((nodes, POINTS, count))
    chance, result = np.ones((nodes, POINTS)), np.zeros(count)
    for j in range(count):
        known = np.einsum("nk,npk->np", lower[:, j, :j], drawn[:, :, :j])
        limit = -(backwards[:, j][:, None] + known) / lower[:, j, j][:, None]
        above = ndtr(-limit)
        chance = chance * above
        drawn[:, :, j] = -ndtri(np.maximum(points[:, :, j] * above, SMALLEST))
        result[j] = weight @ chance.mean(axis=1)
    return result[::-1]

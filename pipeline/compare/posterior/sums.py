"""The reduced sums at many points at once, without their derivatives: what nodes need and nothing more."""

from __future__ import annotations

import numpy as np

from pipeline.compare.arrays import Floats
from pipeline.compare.model.reduction import Sums
from pipeline.compare.model.rotation import Reduced

TOGETHER = 64


def plain_sums(reduced: Reduced, variances: Floats) -> Sums:
    """Cross products of [X | y] and log determinants at each row of `variances`, as `reduction.evaluate` gives them;
    the derivatives are empty."""
    pieces = [_sums(reduced, variances[n : n + TOGETHER]) for n in range(0, len(variances), TOGETHER)]
    matrix = np.concatenate([piece[0] for piece in pieces])
    nothing = np.zeros((0, *matrix.shape))
    return Sums(matrix, np.concatenate([piece[1] for piece in pieces]), nothing, np.zeros((0, len(matrix))))


def _sums(reduced: Reduced, variances: Floats) -> tuple[Floats, Floats]:
    member, series, filling, club = reduced.layout.split(variances)
    width = reduced.groups[0].rotated.shape[2]
    matrix = np.empty((len(reduced.log_determinant), len(variances), width, width))
    log_determinant = np.empty(matrix.shape[:2])
    for group in reduced.groups:
        size = group.rotated.shape[1]
        outer = (group.rotated[:, :, :, None] * group.rotated[:, :, None, :]).reshape(-1, size, width**2)
        spread = 1.0 + filling[None, :, :] * group.filling[:, None, :]
        matrix[group.positions] = ((1.0 / spread) @ outer).reshape(*spread.shape[:2], width, width)
        known = reduced.log_determinant[group.positions, None]
        log_determinant[group.positions] = known + np.log(spread).sum(axis=-1)
    matrix, log_determinant = _swept(matrix, log_determinant, series)
    matrix, log_determinant = _added(matrix, log_determinant, reduced.first_series)
    matrix, log_determinant = _swept(matrix, log_determinant, member)
    matrix, log_determinant = _added(matrix, log_determinant, reduced.first_member)
    matrix, log_determinant = _swept(matrix, log_determinant, club)
    return matrix.sum(axis=0), log_determinant.sum(axis=0)


def _added(matrix: Floats, log_determinant: Floats, first: np.ndarray) -> tuple[Floats, Floats]:
    """Units added up over the level above, whose first units these are."""
    if len(first) == len(matrix):
        return matrix, log_determinant
    return np.add.reduceat(matrix, first, axis=0), np.add.reduceat(log_determinant, first, axis=0)


def _swept(matrix: Floats, log_determinant: Floats, variance: Floats) -> tuple[Floats, Floats]:
    """The last columns taken out one by one: independent random effects with these variances (node, column)."""
    for size in variance.T[::-1]:
        pull, own = matrix[..., :-1, -1], 1.0 + size * matrix[..., -1, -1]
        factor = size / own
        matrix = matrix[..., :-1, :-1] - (factor[..., None] * pull)[..., :, None] * pull[..., None, :]
        log_determinant = log_determinant + np.log(own)
    return matrix, log_determinant

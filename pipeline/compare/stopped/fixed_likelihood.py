"""Runs stopped early, without random effects: exact maximum likelihood of ln rate with left-censored values.

A run stopped at the cap has a rate below the one its time would give. Newton in (b/s, 1/s), where the log-likelihood
is concave (Olsen 1978, from memory; methods note, section 8.2).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr

from pipeline.compare.arrays import Flags, Floats, Whole

STEPS = 100
SETTLED = 1e-12
HALF_LOG_TWO_PI = 0.5 * float(np.log(2.0 * np.pi))


@dataclass(frozen=True)
class FixedFit:
    """Coefficients with model covariance and, by cluster, robust covariance; residual sd; log-likelihood."""

    coefficients: Floats
    covariance: Floats
    robust: Floats
    sd: float
    log_likelihood: float


def mills(value: Floats) -> Floats:
    """phi / Phi, safe far below zero."""
    return np.asarray(np.exp(-0.5 * value**2 - HALF_LOG_TWO_PI - log_ndtr(value)))


def fit_fixed(y: Floats, censored: Flags, X: Floats, cluster: Whole) -> FixedFit | None:
    """Maximum likelihood of y = X b + s e, `y` a bound from above where censored; None where it has no maximum."""
    seen = ~censored
    if seen.sum() <= 1 or np.linalg.matrix_rank(X) < X.shape[1]:
        return None
    start = np.linalg.lstsq(X, y, rcond=None)[0]
    spread = max(float(np.std(y - X @ start)), 1e-3)
    point = np.append(start / spread, 1.0 / spread)
    value, _, _ = _olsen(point, y, censored, X)
    for _ in range(STEPS):
        value, scores, hessian = _olsen(point, y, censored, X)
        try:
            step = np.linalg.solve(-hessian, scores.sum(axis=0))
        except np.linalg.LinAlgError:
            return None
        size = 1.0
        while size > 1e-8:
            moved = point + size * step
            if moved[-1] > 0 and _olsen(moved, y, censored, X)[0] >= value - 1e-12 * abs(value):
                break
            size *= 0.5
        point = point + size * step
        if np.max(np.abs(step)) < SETTLED * max(1.0, float(np.max(np.abs(point)))):
            break
    value, scores, hessian = _olsen(point, y, censored, X)
    if not np.isfinite(value) or np.max(np.abs(point)) > 1e6:
        return None
    return _as_fit(point, value, scores, hessian, cluster)


def _olsen(point: Floats, y: Floats, censored: Flags, X: Floats) -> tuple[float, Floats, Floats]:
    """(log-likelihood, score of each run, second derivatives) in (b/s, 1/s)."""
    scale = point[-1]
    residual = scale * y - X @ point[:-1]
    wide = np.column_stack([-X, y])
    ratio = mills(residual)
    value = np.where(censored, log_ndtr(residual), np.log(scale) - HALF_LOG_TWO_PI - 0.5 * residual**2).sum()
    pull = np.where(censored, ratio, -residual)
    scores = wide * pull[:, None]
    scores[:, -1] += np.where(censored, 0.0, 1.0 / scale)
    bend = np.where(censored, -ratio * (ratio + residual), -1.0)
    hessian = (wide * bend[:, None]).T @ wide
    hessian[-1, -1] -= float((~censored).sum()) / scale**2
    return float(value), scores, hessian


def _as_fit(point: Floats, value: float, scores: Floats, hessian: Floats, cluster: Whole) -> FixedFit:
    """Back to (b, s), with the model's and the cluster-robust covariance of b."""
    scale = point[-1]
    jacobian = np.column_stack([np.eye(len(point) - 1) / scale, -point[:-1] / scale**2])
    bread = np.linalg.inv(-hessian)
    _, position = np.unique(cluster, return_inverse=True)
    sums = np.zeros((int(position.max()) + 1, len(point)))
    np.add.at(sums, position, scores)
    meat = bread @ sums.T @ sums @ bread
    return FixedFit(
        point[:-1] / scale,
        jacobian @ bread @ jacobian.T,
        jacobian @ meat @ jacobian.T,
        float(1.0 / scale),
        value,
    )

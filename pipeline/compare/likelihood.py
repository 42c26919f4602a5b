"""Restricted (or full) log-likelihood, its score and the generalised least squares means, from reduced sums."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.layout import Flags, Floats
from pipeline.compare.reduction import Reduced, Sums, evaluate

LOG_TWO_PI = float(np.log(2.0 * np.pi))


@dataclass(frozen=True)
class Likelihood:
    """Per fit: log-likelihood, its score by each variance, coefficients and their covariance.

    A fixed-effect column with no row left in a fit has coefficient 0 and an infinite variance there.
    """

    value: Floats
    score: Floats
    coefficients: Floats
    covariance: Floats


def likelihood(
    reduced: Reduced, variances: Floats, weights: Floats | None = None, restricted: bool = True
) -> Likelihood:
    """Log-likelihood at each row of `variances`; REML unless `restricted` is False."""
    return from_sums(reduced, evaluate(reduced, variances, weights), weights, restricted)


def from_sums(reduced: Reduced, sums: Sums, weights: Floats | None, restricted: bool = True) -> Likelihood:
    """As `likelihood`, from sums already made."""
    p = reduced.fixed
    fits = len(sums.matrix)
    present, ridge, rows, log_cross = _shape(reduced, weights, fits)
    both = present[:, :, None] & present[:, None, :]
    absent = np.eye(p) * ~present[:, None, :]
    information = np.where(both, sums.matrix[:, :p, :p], 0.0)
    largest = np.max(np.abs(np.einsum("fjj->fj", information)), axis=1, initial=1e-300)
    information = information + absent + np.eye(p) * (ridge * largest[:, None])[:, None, :]
    right = np.where(present, sums.matrix[:, :p, p], 0.0)
    covariance = np.linalg.inv(information)
    b = np.einsum("fjk,fk->fj", covariance, right)
    residual = sums.matrix[:, p, p] - np.einsum("fj,fj->f", b, right)
    _, log_information = np.linalg.slogdet(information)
    free = rows - (present.sum(axis=1) if restricted else 0)
    value = -0.5 * (free * LOG_TWO_PI + sums.log_determinant + residual)
    d_xx, d_xy, d_yy = sums.d_matrix[..., :p, :p], sums.d_matrix[..., :p, p], sums.d_matrix[..., p, p]
    quadratic = d_yy - 2.0 * np.einsum("fj,kfj->kf", b, d_xy) + np.einsum("fi,kfij,fj->kf", b, d_xx, b)
    score = -0.5 * (sums.d_log_determinant + quadratic)
    if restricted:
        value = value + 0.5 * (log_cross - log_information)
        score = score - 0.5 * np.einsum("fij,kfji->kf", np.where(both, covariance, 0.0), d_xx)
    covariance = np.where(absent > 0, np.inf, covariance)
    return Likelihood(value, score.T, b, covariance)


def _shape(reduced: Reduced, weights: Floats | None, fits: int) -> tuple[Flags, Floats, Floats, Floats]:
    """(columns with a row, ridge per column, number of rows, ln|X'X|) of each fit.

    A share that is left only as part of differences between shares can't be told apart from them: it gets a
    small ridge, which changes no share that stands on rows of its own.
    """
    if weights is None:
        weights = np.ones((1, len(reduced.rows_per_member)))
    cross = np.einsum("fm,mij->fij", weights, reduced.cross_products)
    size = np.einsum("fjj->fj", cross)
    present = size > 0
    p = reduced.fixed
    length = np.sqrt(np.where(present, size, 1.0))
    scaled = cross / (length[:, :, None] * length[:, None, :]) + np.eye(p) * ~present[:, None, :]
    tied = np.linalg.eigvalsh(scaled)[:, :1] < 1e-9 if p else np.zeros((len(cross), 1), dtype=bool)
    alone = np.einsum("fm,mj->fj", weights, reduced.lone_rows) > 0
    ridge = np.where(tied & present & ~alone, 1e-9, 0.0)
    filled = cross + np.eye(p) * (~present + ridge * size)[:, None, :]
    log_cross = np.linalg.slogdet(filled)[1]
    rows = weights @ reduced.rows_per_member
    if len(weights) == fits:
        return present, ridge, rows, log_cross
    wide = np.broadcast_to
    return wide(present, (fits, p)), wide(ridge, (fits, p)), wide(rows, (fits,)), wide(log_cross, (fits,))

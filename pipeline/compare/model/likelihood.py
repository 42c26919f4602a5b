"""Restricted (or full) log-likelihood, its score and the generalised least squares means, from reduced sums."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Floats
from pipeline.compare.model.reduction import Sums, evaluate
from pipeline.compare.model.rotation import ColumnShape, Reduced, column_shape

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
    shape = _shape(reduced, weights, fits)
    present, ridge = shape.present, shape.ridge
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
    free = shape.rows - (present.sum(axis=1) if restricted else 0)
    value = -0.5 * (free * LOG_TWO_PI + sums.log_determinant + residual)
    d_xx, d_xy, d_yy = sums.d_matrix[..., :p, :p], sums.d_matrix[..., :p, p], sums.d_matrix[..., p, p]
    quadratic = d_yy - 2.0 * np.einsum("fj,kfj->kf", b, d_xy) + np.einsum("fi,kfij,fj->kf", b, d_xx, b)
    score = -0.5 * (sums.d_log_determinant + quadratic)
    if restricted:
        value = value + 0.5 * (shape.log_cross - log_information)
        score = score - 0.5 * np.einsum("fij,kfji->kf", np.where(both, covariance, 0.0), d_xx)
    covariance = np.where(absent > 0, np.inf, covariance)
    return Likelihood(value, score.T, b, covariance)


def _shape(reduced: Reduced, weights: Floats | None, fits: int) -> ColumnShape:
    """Shape of the fixed-effect columns of each fit."""
    shape = reduced.every
    if weights is not None:
        shape = column_shape(reduced.cross_products, reduced.rows_per_member, reduced.lone_rows, weights)
    if len(shape.rows) == fits:
        return shape
    wide, p = np.broadcast_to, reduced.fixed
    return ColumnShape(
        wide(shape.present, (fits, p)),
        wide(shape.ridge, (fits, p)),
        wide(shape.rows, (fits,)),
        wide(shape.log_cross, (fits,)),
    )

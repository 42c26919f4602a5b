"""Cluster-robust covariance of the means (CR2) with Satterthwaite degrees of freedom, clusters = independent growers.

Source: Bell & McCaffrey 2002; Pustejovsky & Tipton 2018, as written out in the project's methods note, section 3;
checked against clubSandwich.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.model.layout import Layout
from pipeline.compare.model.reml import Fit


@dataclass(frozen=True)
class Robust:
    """Robust covariance of the coefficients and degrees of freedom of each coefficient."""

    covariance: Floats
    degrees: Floats
    clusters: int

    @property
    def standard_errors(self) -> Floats:
        """Robust standard error of each coefficient."""
        return np.sqrt(np.diag(self.covariance))


def covariance_blocks(layout: Layout, variances: Floats, rows: Whole) -> Floats:
    """Marginal covariance of y among `rows` (cluster, size): one dense block per cluster."""
    member, series, filling, club = layout.split(variances)
    size = rows.shape[1]
    same_series = layout.series[rows][:, :, None] == layout.series[rows][:, None, :]
    same_member = layout.row_member[rows][:, :, None] == layout.row_member[rows][:, None, :]
    same_block = layout.row_block[rows][:, :, None] == layout.row_block[rows][:, None, :]
    shared = layout.reference_variance[rows] + filling[0] * layout.shared_filling[rows]
    block: Floats = same_series * shared[:, :, None]
    block[:, np.arange(size), np.arange(size)] += layout.own_variance[rows] + filling[0]
    for same, z, variance in (
        (same_series, layout.z_series, series),
        (same_member, layout.z_member, member),
        (same_block, layout.z_club, club),
    ):
        taken = z[rows]
        block = block + same * ((taken * variance) @ np.swapaxes(taken, -1, -2))
    return block


def cluster_robust(fit: Fit, cluster: Whole, contrasts: Floats | None = None) -> Robust:
    """CR2 for a fitted model; `cluster` gives each row's cluster. Rows of a cluster may lie anywhere.

    With `contrasts` (contrast, coefficient), covariance and degrees are of those combinations.
    Blocks of the model covariance must not reach across clusters.
    """
    layout = fit.layout
    p = layout.X.shape[1]
    known = np.isfinite(np.diag(fit.covariance))
    Q = np.where(known[:, None] & known[None, :], fit.covariance, 0.0)
    C = np.eye(p) if contrasts is None else contrasts
    residual = layout.y - layout.X @ fit.coefficients
    meat = np.zeros((p, p))
    centre = np.zeros((len(C), p, p))
    sum_d = np.zeros(len(C))
    sum_squares = np.zeros(len(C))
    for rows in _rows_by_size(cluster):
        X = layout.X[rows]
        M = covariance_blocks(layout, fit.variances, rows)
        adjusted = _adjusted(M, X, Q)
        pushed = np.swapaxes(X, -1, -2) @ adjusted
        u = (pushed @ residual[rows][..., None])[..., 0]
        meat += np.einsum("gi,gj->ij", u, u)
        T = np.swapaxes(pushed, -1, -2) @ Q @ C.T
        d = np.einsum("gnc,gnm,gmc->gc", T, M, T)
        a = np.swapaxes(X, -1, -2) @ T
        h = np.einsum("gic,ij,gjc->gc", a, Q, a)
        sum_d += (d - h).sum(axis=0)
        sum_squares += (d**2 - 2.0 * d * h).sum(axis=0)
        centre += np.einsum("gic,gjc->cij", a, a)
    QS = Q @ centre
    trace = np.einsum("cij,cji->c", QS, QS)
    with np.errstate(divide="ignore", invalid="ignore"):
        degrees = np.where(sum_squares + trace > 0, sum_d**2 / (sum_squares + trace), 0.0)
    return Robust(C @ Q @ meat @ Q @ C.T, degrees, len(np.unique(cluster)))


def _rows_by_size(cluster: Whole) -> list[Whole]:
    """Row numbers of the clusters, stacked (cluster, size) for each size."""
    order = np.argsort(cluster, kind="stable")
    _, first, sizes = np.unique(cluster[order], return_index=True, return_counts=True)
    return [order[first[sizes == size][:, None] + np.arange(size)[None, :]] for size in np.unique(sizes)]


def _adjusted(M: Floats, X: Floats, Q: Floats) -> Floats:
    """W_i A_i per cluster, so that X' W A r is one product: A = D' B^(+1/2) D with D'D = M, W = M^-1."""
    lower = np.linalg.cholesky(M)
    upper = np.swapaxes(lower, -1, -2)
    B = upper @ (M - X @ Q @ np.swapaxes(X, -1, -2)) @ lower
    values, axes = np.linalg.eigh(0.5 * (B + np.swapaxes(B, -1, -2)))
    kept = values > 1e-11 * np.max(values, axis=-1, keepdims=True, initial=0.0)
    root = np.where(kept, 1.0 / np.sqrt(np.where(kept, values, 1.0)), 0.0)
    half = (axes * root[:, None, :]) @ np.swapaxes(axes, -1, -2)
    A = lower @ half @ upper
    return np.linalg.solve(M, A)

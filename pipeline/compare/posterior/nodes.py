"""Weighted nodes of a posterior of standard deviations, found the same way every time.

The density is taken as even in every standard deviation, so that 0 is an ordinary point. A normal around its top,
folded at 0, proposes points of a fixed low-discrepancy sequence; each is weighted by density over proposal (importance
sampling), and the proposal is moved to the weighted moments until enough nodes count.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import logsumexp, ndtri

Floats = NDArray[np.float64]
LogDensity = Callable[[Floats], Floats]
"""Log density, up to a constant, of points (node, standard deviation); one number per node."""

TRIED, KEPT = 192, 512
ROUNDS = 4
ENOUGH_EFFECTIVE = 0.25
WIDTHS = (1.1, 2.2)
"""Half of the points come from a proposal a little wider than the posterior, half from one twice as wide."""
STEP = 1e-3
TINY = 1e-9


@dataclass(frozen=True)
class Nodes:
    """Standard deviations (node, k) with weights that add up to 1. effective: how many equally weighted nodes they are
    worth; evidence: log of the integral of the density over all standard deviations at or above 0."""

    sds: Floats
    weight: Floats
    effective: float
    evidence: float


@dataclass(frozen=True)
class _Proposal:
    centre: Floats
    root: Floats

    def points(self, count: int) -> Floats:
        """Points at or above 0."""
        normal = ndtri(even_points(count, len(self.centre)))
        wide = np.where(np.arange(count) % 2, WIDTHS[0], WIDTHS[1])[:, None]
        return np.asarray(np.abs(self.centre + wide * (normal @ self.root.T)))

    def log_density(self, points: Floats) -> Floats:
        """Log density of the folded mixture."""
        k = len(self.centre)
        inverse = np.linalg.inv(self.root)
        log_root = float(np.log(np.abs(np.linalg.det(self.root))))
        terms = []
        for signs in product((1.0, -1.0), repeat=k):
            square = np.sum(((points * np.array(signs) - self.centre) @ inverse.T) ** 2, axis=1)
            terms += [-0.5 * square / w**2 - k * np.log(w) + np.log(0.5) for w in WIDTHS]
        return np.asarray(logsumexp(terms, axis=0) - log_root - 0.5 * k * np.log(2.0 * np.pi))


def even_points(count: int, dimensions: int) -> Floats:
    """Points (count, dimension) spread evenly in the open unit cube: the additive sequence whose steps are powers of the
    inverse of the root of g^(d+1) = g + 1."""
    root = 2.0
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / (dimensions + 1))
    steps = (1.0 / root) ** np.arange(1, dimensions + 1)
    return np.asarray((0.5 + np.outer(np.arange(1, count + 1), steps)) % 1.0 * (1 - 2e-12) + 1e-12)


def posterior_nodes(log_density: LogDensity, scale: Floats, count: int = KEPT) -> Nodes:
    """Nodes of the density; `scale` is a natural size (the prior's) for each standard deviation."""
    if not len(scale):
        return Nodes(np.zeros((1, 0)), np.ones(1), 1.0, float(log_density(np.zeros((1, 0)))[0]))
    proposal = _around_the_top(log_density, scale)
    for _ in range(ROUNDS):
        tried = _weighted(log_density, proposal, TRIED)
        if tried.effective >= ENOUGH_EFFECTIVE * TRIED:
            break
        proposal = _moved(tried, proposal)
    return _weighted(log_density, _moved(tried, proposal), count)


def _weighted(log_density: LogDensity, proposal: _Proposal, count: int) -> Nodes:
    points = proposal.points(count)
    log_weight = log_density(points) - proposal.log_density(points)
    log_weight = np.where(np.isfinite(log_weight), log_weight, -np.inf)
    total = float(logsumexp(log_weight))
    weight = np.exp(log_weight - total)
    return Nodes(points, weight, float(1.0 / np.sum(weight**2)), total - float(np.log(count)))


def _around_the_top(log_density: LogDensity, scale: Floats) -> _Proposal:
    """A normal at the mode with the curvature there, never wider than the prior."""
    k = len(scale)

    def downhill(point: Floats) -> tuple[float, Floats]:
        moves = np.vstack([np.zeros(k), np.eye(k) * STEP])
        values = -log_density((point + moves) * scale)
        return float(values[0]), (values[1:] - values[0]) / STEP

    best = minimize(
        downhill,
        np.full(k, 0.4),
        jac=True,
        method="L-BFGS-B",
        bounds=[(0.0, None)] * k,
        options={"maxiter": 40, "ftol": 1e-5, "gtol": 0.05},
    )
    top = np.asarray(best.x)
    values, axes = np.linalg.eigh(_curvature(log_density, top, scale))
    root = scale[:, None] * axes / np.sqrt(np.maximum(values, 1.0))
    return _Proposal(top * scale, root)


def _curvature(log_density: LogDensity, top: Floats, scale: Floats) -> Floats:
    """Minus the second derivatives in units of `scale`, by differences; the density is even, so points may fall below 0."""
    k, step = len(top), 20.0 * STEP
    unit = np.eye(k) * step
    pairs = [(i, j) for i in range(k) for j in range(i)]
    points = [top, *(top + unit), *(top - unit)]
    for i, j in pairs:
        points += [top + unit[i] + unit[j], top - unit[i] - unit[j]]
    value = -log_density(np.abs(np.array(points)) * scale)
    middle, up, down = value[0], value[1 : k + 1], value[k + 1 : 2 * k + 1]
    bend = np.diag((up + down - 2.0 * middle) / step**2)
    for n, (i, j) in enumerate(pairs):
        both = value[2 * k + 1 + 2 * n] + value[2 * k + 2 + 2 * n]
        mixed = (both - up[i] - down[i] - up[j] - down[j] + 2.0 * middle) / (2.0 * step**2)
        bend[i, j] = bend[j, i] = mixed
    return bend


def _moved(tried: Nodes, before: _Proposal) -> _Proposal:
    """The proposal with the weighted moments of the nodes. A standard deviation that lies at 0 within its own error is
    proposed from a normal at 0 on its own."""
    mean = tried.weight @ tried.sds
    away = tried.sds - mean
    covariance = away.T @ (away * tried.weight[:, None])
    low = mean < 1.8 * np.sqrt(np.diag(covariance))
    square = tried.weight @ tried.sds**2
    covariance = np.where(low[:, None] | low[None, :], 0.0, covariance) + np.diag(np.where(low, square, 0.0))
    size = np.sqrt(np.diag(covariance))
    least = 0.1 * np.sqrt(np.sum(before.root**2, axis=1)) + TINY
    if tried.effective < 3 * len(mean):
        size = np.maximum(size, least)
    covariance = covariance + np.diag(np.maximum(size**2 - np.diag(covariance), 0.0) + TINY**2)
    return _Proposal(np.where(low, 0.0, mean), np.linalg.cholesky(covariance))

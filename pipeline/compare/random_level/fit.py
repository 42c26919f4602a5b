"""Climbing the random-level likelihood; curvature block by block; refits without blocks in one Newton step."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.random_level.marginal import Marginal, Parameters, marginal
from pipeline.compare.random_level.stopped_pool import StoppedPool

SMALLEST, LARGEST = 0.01, 5.0
START_LEVEL, START_SPREAD = 0.4, 0.12
DIFFERENCE = 1e-3
LARGEST_STEP = 1.0
FARTHEST = 20.0
LARGEST_RHO = 0.95


@dataclass(frozen=True)
class LevelFit:
    """Where the likelihood is largest. vector: coefficients, log standard deviations, and rho where it was estimated;
    scores (block, parameter) and curvature (block, parameter, parameter); free: not at its smallest value."""

    pool: StoppedPool
    at: Parameters
    log_likelihood: float
    vector: Floats
    scores: Floats
    curvature: Floats
    free: Flags

    @property
    def means(self) -> Floats:
        """Mean ln ratio of each share."""
        return self.at.coefficients[1 : 1 + len(self.pool.shares)]

    @property
    def covariance(self) -> Floats:
        """Model covariance of all coefficients, the spreads' uncertainty included."""
        return self.without(np.zeros(0, dtype=np.int64))[1]

    @property
    def robust(self) -> Floats:
        """Covariance of the coefficients robust by block, times blocks / (blocks - 1)."""
        at, p = np.flatnonzero(self.free), len(self.at.coefficients)
        bread = np.linalg.pinv(-self.curvature.sum(axis=0)[np.ix_(at, at)], hermitian=True)
        blocks = len(self.scores)
        meat = self.scores[:, at].T @ self.scores[:, at] * (blocks / max(blocks - 1, 1))
        return np.asarray((bread @ meat @ bread)[:p, :p])

    @property
    def rho_error(self) -> float:
        """Standard error of an estimated rho; infinite where it was not estimated or the data can't tell it."""
        at = np.flatnonzero(self.free)
        if len(self.vector) == len(self.at.coefficients) + len(self.at.sds):
            return float("inf")
        inverse = np.linalg.pinv(-self.curvature.sum(axis=0)[np.ix_(at, at)], hermitian=True)
        own = float(inverse[-1, -1])
        return float(np.sqrt(own)) if own > 0 and self.free[-1] else float("inf")

    def without(self, blocks: Whole) -> tuple[Floats, Floats]:
        """(vector, covariance of the coefficients) after one Newton step without these blocks."""
        kept = np.setdiff1d(np.arange(len(self.scores)), blocks)
        at, p = np.flatnonzero(self.free), len(self.at.coefficients)
        curvature = -self.curvature[kept].sum(axis=0)[np.ix_(at, at)]
        inverse = np.linalg.pinv(curvature, hermitian=True)
        moved = self.vector.copy()
        step = inverse @ self.scores[kept][:, at].sum(axis=0)
        step[p:] = np.clip(step[p:], -LARGEST_STEP, LARGEST_STEP)
        moved[at] += step
        return moved, inverse[:p, :p]


def fit_random_level(
    pool: StoppedPool, rho: float | None = 0.0, near: LevelFit | None = None, curved: bool = True
) -> LevelFit | None:
    """The maximum, rho fixed or (None) estimated, from the start of a fit of the same pool where one is given; None where
    there is none: every run stopped, or a share that no timed run bounds from below. `curved` False leaves scores and
    curvature empty, for a first look."""
    if not _has_maximum(pool):
        return None
    start = near.at if near is not None else _start(pool)
    p, k = len(start.coefficients), len(start.sds)
    first = np.concatenate([start.coefficients, np.log(start.sds), np.zeros(int(rho is None))])
    limits = (float(np.log(SMALLEST)), float(np.log(LARGEST)))
    bounds = [(None, None)] * p + [limits] * k + [(-LARGEST_RHO, LARGEST_RHO)] * int(rho is None)

    def downhill(vector: Floats) -> tuple[float, Floats]:
        found, slopes = _at(pool, vector, p, k, rho)
        return -float(found.value.sum()), -slopes.sum(axis=0)

    best = minimize(
        downhill,
        first,
        jac=True,
        method="L-BFGS-B",
        bounds=bounds,
        options={"maxiter": 150, "ftol": 1e-9, "gtol": 1e-3, "maxcor": 20},
    )
    vector = np.asarray(best.x)
    if not np.isfinite(best.fun) or np.max(np.abs(vector[:p])) > FARTHEST:
        return None
    free = np.ones(len(vector), dtype=bool)
    free[p : p + k] = vector[p : p + k] > limits[0] + 1e-6
    if rho is None:
        free[-1] = abs(vector[-1]) < LARGEST_RHO - 1e-6
    nothing = np.zeros((0, len(vector)))
    plain = LevelFit(
        pool, parameters(vector, p, k, rho), -float(best.fun), vector, nothing, nothing[:, :, None], free
    )
    return _with_curvature(plain, rho) if curved else plain


def parameters(vector: Floats, p: int, k: int, rho: float | None) -> Parameters:
    """The parameters that a vector stands for."""
    return Parameters(vector[:p], np.exp(vector[p : p + k]), float(vector[p + k]) if rho is None else rho)


def _at(pool: StoppedPool, vector: Floats, p: int, k: int, rho: float | None) -> tuple[Marginal, Floats]:
    """The likelihood, and its slopes (block, parameter) by the vector."""
    at = parameters(vector, p, k, rho)
    found = marginal(pool, at)
    slopes = [found.by_coefficients, found.by_sds * at.sds]
    if rho is None:
        slopes.append(found.by_rho[:, None])
    return found, np.concatenate(slopes, axis=1)


def _with_curvature(plain: LevelFit, rho: float | None) -> LevelFit:
    p, k, vector = len(plain.at.coefficients), len(plain.at.sds), plain.vector
    count = len(vector)
    scores = _at(plain.pool, vector, p, k, rho)[1]
    curvature = np.zeros((len(scores), count, count))
    for j in range(count):
        move = DIFFERENCE * np.eye(count)[j]
        up, down = (_at(plain.pool, vector + sign * move, p, k, rho)[1] for sign in (1.0, -1.0))
        curvature[:, j] = (up - down) / (2.0 * DIFFERENCE)
    curvature = 0.5 * (curvature + np.swapaxes(curvature, 1, 2))
    return replace(plain, scores=scores, curvature=curvature)


def _start(pool: StoppedPool) -> Parameters:
    """Least squares of the timed cells beside stopped runs at their bounds, and middling spreads."""
    rows = pool.real
    coefficients = np.linalg.lstsq(pool.X[rows], pool.y[rows], rcond=None)[0]
    sds = np.array([START_LEVEL if name.startswith("level") else START_SPREAD for name in pool.names])
    return Parameters(np.asarray(coefficients), sds)


def _has_maximum(pool: StoppedPool) -> bool:
    """Whether timed runs alone tell every coefficient; then no mean can run away below its bounds."""
    timed = pool.X[:, : pool.timed_rows][pool.real[:, : pool.timed_rows]]
    return len(timed) > 0 and bool(np.linalg.matrix_rank(timed) == pool.X.shape[2])

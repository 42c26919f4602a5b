"""The marginal likelihood of timed and stopped runs, the level of every series drawn from a common distribution.

ln rate = level of the series + mean of the share + growers', series' and mixes' effects on the ratio + pot error. Free
series levels would blame a slow-looking mix wholly on slow base and make the mean too fast (methods note, section 8.6).
Timed runs enter in closed form; stopped ones as the chance of lying below their bounds given the timed ones.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Floats
from pipeline.compare.random_level.orthant import below
from pipeline.compare.random_level.stopped_pool import StoppedPool

HALF_LOG_TWO_PI = 0.5 * float(np.log(2.0 * np.pi))
POINTS = 256


@dataclass(frozen=True)
class Parameters:
    """coefficients: level, shares, club offsets; sds in the order of `StoppedPool.names`; rho: correlation of a level
    with the ratio of the same series, member or club."""

    coefficients: Floats
    sds: Floats
    rho: float = 0.0


@dataclass(frozen=True)
class Marginal:
    """Per block: log-likelihood and its derivatives by coefficients, by standard deviations and by rho."""

    value: Floats
    by_coefficients: Floats
    by_sds: Floats
    by_rho: Floats


def covariance_of(pool: StoppedPool, sds: Floats, rho: float) -> Floats:
    """Covariance of all observations, per block."""
    total = pool.own[:, :, None] * np.eye(pool.own.shape[1])
    for sd, pattern in zip(sds, pool.parts.values(), strict=True):
        total = total + sd**2 * pattern
    if rho:
        size = dict(zip(pool.names, sds, strict=True))
        for (level, ratio), pattern in pool.pairs.items():
            total = total + rho * size[level] * size[ratio] * pattern
    return np.asarray(total)


def marginal(pool: StoppedPool, at: Parameters, points: int = POINTS) -> Marginal:
    """The log-likelihood and its derivatives. These are the expected derivatives of the likelihood of the true values
    of the stopped runs, given what was seen (Fisher's identity)."""
    timed = pool.timed_rows
    total = covariance_of(pool, at.sds, at.rho)
    residual = pool.y - pool.X @ at.coefficients
    residual = np.where(pool.real, residual, 0.0)
    seen = residual[:, :timed]
    front = total[:, :timed, :timed]
    pull = np.linalg.solve(front, np.concatenate([seen[:, :, None], total[:, :timed, timed:]], axis=2))
    across = total[:, timed:, :timed]
    centre = (across @ pull[:, :, :1])[:, :, 0]
    rest = total[:, timed:, timed:] - across @ pull[:, :, 1:]
    bound = np.where(pool.real[:, timed:], residual[:, timed:] - centre, pool.y[:, timed:])
    log_chance, mean, spread = below(
        bound, 0.5 * (rest + np.swapaxes(rest, 1, 2)), points, pool.real[:, timed:].sum(axis=1)
    )
    value = log_chance - 0.5 * np.linalg.slogdet(front)[1] - 0.5 * np.einsum("bi,bi->b", seen, pull[:, :, 0])
    value = value - HALF_LOG_TWO_PI * pool.real[:, :timed].sum(axis=1)
    expected = np.concatenate([seen, centre + mean], axis=1)
    second = expected[:, :, None] * expected[:, None, :]
    second[:, timed:, timed:] += spread
    inverse = np.linalg.inv(total)
    curved = inverse @ second @ inverse - inverse
    by_sds, by_rho = _by_spreads(pool, at, curved)
    return Marginal(
        np.asarray(value),
        np.einsum("bij,bi->bj", pool.X, (inverse @ expected[:, :, None])[:, :, 0]),
        by_sds,
        by_rho,
    )


def _by_spreads(pool: StoppedPool, at: Parameters, curved: Floats) -> tuple[Floats, Floats]:
    """Derivatives by every standard deviation (block, k) and by rho (block)."""
    by_sds = np.stack(
        [sd * np.einsum("bij,bij->b", curved, G) for sd, G in zip(at.sds, pool.parts.values(), strict=True)],
        axis=1,
    )
    by_rho = np.zeros(len(curved))
    for (level, ratio), pattern in pool.pairs.items():
        one, other = pool.names.index(level), pool.names.index(ratio)
        half = 0.5 * np.einsum("bij,bij->b", curved, pattern)
        by_rho += at.sds[one] * at.sds[other] * half
        by_sds[:, one] += at.rho * at.sds[other] * half
        by_sds[:, other] += at.rho * at.sds[one] * half
    return by_sds, by_rho

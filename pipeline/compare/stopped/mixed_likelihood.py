"""Runs stopped early, growers and series differing: maximum likelihood by quadrature over members and series.

y = a[series] + X b + z1 (u[member] + w[series]) + z2 v[member] + s e, y a bound from above where the run was stopped.
Given u, v and w the runs are independent. The inner integral over w is a convolution on one grid of h = u + w; the
outer one an equally spaced trapezoid of 81 points over 7 standard deviations either side (methods note, section 8.3).
Columns z1, z2 must be centred inside the series: with free series intercepts an uncentred column drives the spread of
series to 0. Members without a stopped run have a Gaussian likelihood in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.stopped.fixed_likelihood import HALF_LOG_TWO_PI

POINTS = 81
REACH = 7.0
FINEST = 0.75


@dataclass(frozen=True)
class StoppedRuns:
    """Runs sorted by member and series. series: of each run; member: of each series; both rising from 0.

    z1: column of member and series effects; z2: column of the members' slope or None.
    """

    y: Floats
    censored: Flags
    X: Floats
    z1: Floats
    z2: Floats | None
    series: Whole
    member: Whole

    @property
    def members(self) -> int:
        """Number of members."""
        return int(self.member[-1]) + 1


@dataclass(frozen=True)
class Point:
    """Parameters: means, series intercepts, residual sd, spread of members, of series (None: no such effect), slope."""

    means: Floats
    intercepts: Floats
    sd: float
    level: float
    series: float | None
    slope: float | None

    @property
    def spreads(self) -> tuple[float, ...]:
        """All standard deviations in the order of the gradient: residual, level, series, slope."""
        return tuple(
            spread for spread in (self.sd, self.level, self.series, self.slope) if spread is not None
        )


@dataclass(frozen=True)
class Contribution:
    """A member's log-likelihood and its gradient by (means, log spreads) and by its own series intercepts."""

    value: float
    shared: Floats
    own: Floats


def contributions(runs: StoppedRuns, point: Point) -> list[Contribution]:
    """One entry per member."""
    residual = runs.y - point.intercepts[runs.series] - runs.X @ point.means
    grid = _grid(point, point.slope is not None and runs.z2 is not None)
    by_member = []
    for member in range(runs.members):
        series = np.flatnonzero(runs.member == member)
        low, high = np.searchsorted(runs.series, [series[0], series[-1] + 1])
        rows = slice(int(low), int(high))
        if runs.censored[rows].any():
            by_member.append(_by_quadrature(runs, point, grid, residual, series))
        else:
            by_member.append(_in_closed_form(runs, point, residual[rows], rows, series))
    return by_member


def _in_closed_form(
    runs: StoppedRuns, point: Point, residual: Floats, rows: slice, series: Whole
) -> Contribution:
    """Gaussian likelihood of a member whose runs all reached the mark."""
    z1 = runs.z1[rows]
    dummies = (runs.series[rows][:, None] == series[None, :]).astype(np.float64)
    pieces = [np.eye(len(z1)) * point.sd**2, point.level**2 * np.outer(z1, z1)]
    if point.series is not None:
        within = dummies * z1[:, None]
        pieces.append(point.series**2 * within @ within.T)
    if point.slope is not None and runs.z2 is not None:
        pieces.append(point.slope**2 * np.outer(runs.z2[rows], runs.z2[rows]))
    inverse = np.linalg.inv(sum(pieces[1:], pieces[0]))
    pushed = inverse @ residual
    value = 0.5 * float(np.linalg.slogdet(inverse)[1] - residual @ pushed) - len(z1) * HALF_LOG_TWO_PI
    slopes = [float(pushed @ piece @ pushed - np.sum(inverse * piece)) for piece in pieces]
    return Contribution(value, np.concatenate([runs.X[rows].T @ pushed, slopes]), dummies.T @ pushed)


@dataclass(frozen=True)
class _Grid:
    """Where u, v and h are evaluated, with the log density of (u, v) and the kernel of h given u."""

    u: Floats
    v: Floats
    h: Floats
    log_density: Floats
    kernel: Floats
    squares: Floats


def _grid(point: Point, sloped: bool) -> _Grid:
    u = np.linspace(-REACH, REACH, POINTS) * point.level
    log_u = -0.5 * (u / point.level) ** 2 - HALF_LOG_TWO_PI - np.log(point.level) + np.log(u[1] - u[0])
    v, log_v = np.zeros(1), np.zeros(1)
    if sloped and point.slope is not None:
        v = np.linspace(-REACH, REACH, POINTS) * point.slope
        log_v = -0.5 * (v / point.slope) ** 2 - HALF_LOG_TWO_PI - np.log(point.slope) + np.log(v[1] - v[0])
    density = log_u[:, None] + log_v[None, :]
    if point.series is None:
        return _Grid(u, v, u, density, np.eye(POINTS), np.zeros((POINTS, POINTS)))
    edge = REACH * (point.level + point.series)
    h = np.linspace(-edge, edge, max(POINTS, 2 * int(np.ceil(edge / (FINEST * point.series))) + 1))
    away = h[None, :] - u[:, None]
    kernel = np.exp(-0.5 * (away / point.series) ** 2 - HALF_LOG_TWO_PI) * ((h[1] - h[0]) / point.series)
    return _Grid(u, v, h, density, kernel, kernel * away**2)


def _by_quadrature(
    runs: StoppedRuns, point: Point, grid: _Grid, residual: Floats, series: Whole
) -> Contribution:
    """Likelihood of a member with stopped runs, integrated on the grid."""
    parts = [_Series.of(runs, point, residual, int(number), grid) for number in series]
    inner = [np.maximum(grid.kernel @ part.density, 1e-300) for part in parts]
    total = grid.log_density + sum(
        np.log(integral) + part.shift for integral, part in zip(inner, parts, strict=True)
    )
    peak = float(total.max())
    weight = np.exp(total - peak)
    mass = float(weight.sum())
    weight = weight / mass
    shared = np.zeros(runs.X.shape[1] + len(point.spreads))
    own = np.zeros(len(series))
    slopes = shared[runs.X.shape[1] :]
    slopes[1] = float((weight.sum(axis=1) * grid.u**2).sum()) / point.level**2 - 1.0
    if point.slope is not None and runs.z2 is not None:
        slopes[-1] = float((weight.sum(axis=0) * grid.v**2).sum()) / point.slope**2 - 1.0
    for j, (part, integral) in enumerate(zip(parts, inner, strict=True)):
        rest = weight / integral
        posterior = part.density * (grid.kernel.T @ rest)
        pull, slopes_sd = part.pull(point, grid, posterior)
        shared[: runs.X.shape[1]] += runs.X[part.rows].T @ pull
        own[j] = pull.sum()
        slopes[0] += slopes_sd
        if point.series is not None:
            square = float((rest * (grid.squares @ part.density)).sum())
            slopes[2] += square / point.series**2 - 1.0
    return Contribution(peak + float(np.log(mass)), shared, own)


@dataclass(frozen=True)
class _Series:
    """One series on the grid: density of its runs at (h, v), scaled by exp(shift), and what its gradient needs.

    stopped: for runs stopped alike, their rows, their standardised bound on the grid and the log probability below it.
    """

    rows: slice
    residual: Floats
    censored: Flags
    z1: Floats
    z2: Floats
    density: Floats
    shift: float
    stopped: tuple[tuple[Whole, Floats, Floats], ...]

    @staticmethod
    def of(runs: StoppedRuns, point: Point, residual: Floats, series: int, grid: _Grid) -> _Series:
        """The series' density on the grid."""
        low, high = np.searchsorted(runs.series, [series, series + 1])
        rows = slice(int(low), int(high))
        r, censored, z1 = residual[rows], runs.censored[rows], runs.z1[rows]
        z2 = np.zeros(len(r)) if runs.z2 is None else runs.z2[rows]
        seen = ~censored
        h, v = grid.h[:, None], grid.v[None, :]
        a, b = z1[seen], z2[seen]
        square = (
            float(r[seen] @ r[seen])
            - 2.0 * h * float(a @ r[seen])
            - 2.0 * v * float(b @ r[seen])
            + h**2 * float(a @ a)
            + 2.0 * h * v * float(a @ b)
            + v**2 * float(b @ b)
        )
        log_density = -0.5 * square / point.sd**2 - seen.sum() * (HALF_LOG_TWO_PI + np.log(point.sd))
        stopped = []
        for alike in _alike(np.flatnonzero(censored), r, z1, z2):
            j = alike[0]
            value = (r[j] - z1[j] * h - z2[j] * v) / point.sd
            log_below = log_ndtr(value)
            log_density = log_density + len(alike) * log_below
            stopped.append((alike, value, log_below))
        shift = float(log_density.max())
        return _Series(rows, r, censored, z1, z2, np.exp(log_density - shift), shift, tuple(stopped))

    def pull(self, point: Point, grid: _Grid, posterior: Floats) -> tuple[Floats, float]:
        """(score of each run by its mean, score by log residual sd), averaged over the posterior of (h, v)."""
        h, v = grid.h[:, None], grid.v[None, :]
        first, second = float((posterior * h).sum()), float((posterior * v).sum())
        hh, hv, vv = (float((posterior * moment).sum()) for moment in (h * h, h * v, v * v))
        error = self.residual - self.z1 * first - self.z2 * second
        pull = error / point.sd**2
        seen = ~self.censored
        spread = self.z1**2 * (hh - first**2) + 2 * self.z1 * self.z2 * (hv - first * second)
        spread = spread + self.z2**2 * (vv - second**2)
        slope = float((error[seen] ** 2 + spread[seen]).sum()) / point.sd**2 - int(seen.sum())
        for alike, value, log_below in self.stopped:
            ratio = posterior * np.exp(-0.5 * value**2 - HALF_LOG_TWO_PI - log_below)
            pull[alike] = -float(ratio.sum()) / point.sd
            slope -= len(alike) * float((ratio * value).sum())
        return pull, slope


def _alike(rows: Whole, *columns: Floats) -> list[Whole]:
    """These rows in sets that agree in all columns: pots of one mix stopped at the same mark cost as much as one."""
    sets: dict[tuple[float, ...], list[int]] = {}
    for row in rows:
        sets.setdefault(tuple(float(column[row]) for column in columns), []).append(int(row))
    return [np.array(alike, dtype=np.int64) for alike in sets.values()]

"""Restricted maximum likelihood: variances at or above 0, from two starts, then polished by Newton steps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from pipeline.compare.arrays import Flags, Floats
from pipeline.compare.model.layout import Layout, with_blocks
from pipeline.compare.model.likelihood import Likelihood, likelihood
from pipeline.compare.model.rotation import Reduced, reduce_layout

STARTS = (0.3, 0.03)
RELATIVE_CHANGE = 1e-12
NEWTON_STEPS = 8
DIFFERENCE_STEP = 1e-4
NEGLIGIBLE = 1e-7
REUSE_BELOW = 1e-2
FLAT = 1e-8
MANY_BLOCKS, PART_BLOCKS = 2000, 500
"""From how many independent members or clubs on a part is fitted first, and how many that part has at least."""


@dataclass(frozen=True)
class Fit:
    """One fitted model: variances by name, coefficients, model covariance, restricted log-likelihood.

    `relative_change` is the size of the last Newton step against the largest variance.
    """

    reduced: Reduced
    variances: Floats
    coefficients: Floats
    covariance: Floats
    log_likelihood: float
    relative_change: float

    @property
    def layout(self) -> Layout:
        """The effects the model was fitted to."""
        return self.reduced.layout

    def variance(self, name: str) -> float:
        """Variance of that name, 0 where the model has none."""
        names = self.layout.variance_names
        return float(self.variances[names.index(name)]) if name in names else 0.0


def fit_layout(layout: Layout, restricted: bool = True, near: Fit | None = None) -> Fit:
    """Fits the nested model of a layout by REML (ML unless `restricted`).

    With `near`, a fit of much the same data, one climb starts at its variances; otherwise two start apart. Of a
    large pool a part is fitted first, and the whole from there: the same top in half the time.
    """
    blocks = len(np.unique(layout.block))
    if near is None and blocks >= MANY_BLOCKS:
        near = fit_layout(with_blocks(layout, np.arange(blocks) % (blocks // PART_BLOCKS) == 0), restricted)
    return fit_reduced(reduce_layout(layout), restricted, near=near)


def fit_reduced(
    reduced: Reduced, restricted: bool = True, weights: Floats | None = None, near: Fit | None = None
) -> Fit:
    """As `fit_layout`, from a layout already reduced; `weights` (1, member) of 0 leave members out."""
    scale = variance_scale(reduced)
    model = Model(reduced, restricted, weights)
    if not len(scale):
        return _as_fit(model, np.zeros(0), 0.0)
    count = len(scale)
    starts = [np.full(count, start) for start in STARTS]
    if near is not None:
        known = np.array([near.variance(name) for name in reduced.layout.variance_names])
        starts = [np.maximum(known / scale, STARTS[-1] / 10.0)]
    candidates = [_climb(model, scale, start) for start in starts]
    best = max(candidates, key=lambda candidate: candidate[0])[1]
    variances, change = _polish(model, best, scale)
    return _as_fit(model, variances, change)


@dataclass(frozen=True)
class Model:
    """A likelihood to be climbed: the reduced data, REML or ML, and which members take part."""

    reduced: Reduced
    restricted: bool
    weights: Floats | None

    def likelihood_at(self, variances: Floats) -> Likelihood:
        """The likelihood at one vector of variances."""
        return likelihood(self.reduced, variances[None], self.weights, self.restricted)


def _as_fit(model: Model, variances: Floats, change: float) -> Fit:
    here, reduced = model.likelihood_at(variances), model.reduced
    return Fit(reduced, variances, here.coefficients[0], here.covariance[0], float(here.value[0]), change)


def variance_scale(reduced: Reduced) -> Floats:
    """A natural size for each variance: residual variance of least squares over the mean square of its column."""
    layout = reduced.layout
    b = np.linalg.lstsq(layout.X, layout.y, rcond=None)[0]
    residual = max(float(np.mean((layout.y - layout.X @ b) ** 2)), 1e-8)
    sizes = [
        *np.mean(layout.z_member**2, axis=0),
        *np.mean(layout.z_series**2, axis=0),
        *([1.0] if layout.with_mix else []),
        *np.mean(layout.z_club**2, axis=0),
    ]
    return residual / np.maximum(np.array(sizes, dtype=np.float64), 1e-6)


def _climb(model: Model, scale: Floats, start: Floats) -> tuple[float, Floats]:
    """(log-likelihood, variances) where bounded quasi-Newton steps from `start` (in units of `scale`) end."""

    def downhill(point: Floats) -> tuple[float, Floats]:
        here = model.likelihood_at(point * scale)
        return -float(here.value[0]), -here.score[0] * scale

    minimum = minimize(
        downhill,
        start,
        jac=True,
        method="L-BFGS-B",
        bounds=[(0.0, None)] * len(scale),
        options={"maxiter": 200, "ftol": 1e-7, "gtol": 1e-2},
    )
    return -float(minimum.fun), np.asarray(minimum.x) * scale


def _polish(model: Model, variances: Floats, scale: Floats) -> tuple[Floats, float]:
    """Newton steps on the variances that are free, until the change is below `RELATIVE_CHANGE`."""
    here = model.likelihood_at(variances)
    negligible = (variances < NEGLIGIBLE * scale) & (variances > 0) & (here.score[0] <= 0)
    if negligible.any():
        variances = np.where(negligible, 0.0, variances)
        here = model.likelihood_at(variances)
    change, known, slopes = np.inf, np.zeros(len(scale), dtype=bool), np.zeros((0, 0))
    for _ in range(NEWTON_STEPS):
        free = (variances > 0) | (here.score[0] > 0)
        if not free.any():
            return variances, 0.0
        if change > REUSE_BELOW or not np.array_equal(free, known):
            known, slopes = free, _score_slopes(model, variances, scale, free)
        moved, here = _bounded_step(model, variances, here, free, slopes)
        before, change = change, float(np.max(np.abs(moved - variances)) / max(np.max(moved), 1e-300))
        variances = moved
        if change < RELATIVE_CHANGE or (change < 1e-9 and change >= 0.5 * before):
            break
    return variances, change


def _score_slopes(model: Model, variances: Floats, scale: Floats, free: Flags) -> Floats:
    """Second derivatives of the log-likelihood by the free variances, by differences of the score."""
    index = np.flatnonzero(free)
    step = DIFFERENCE_STEP * np.maximum(variances, 0.05 * scale)[index]
    down = np.minimum(step, variances[index])
    slopes = np.zeros((len(index), len(index)))
    for row, j in enumerate(index):
        ends = []
        for move in (step[row], -down[row]):
            point = variances.copy()
            point[j] += move
            ends.append(model.likelihood_at(point).score[0][index])
        slopes[row] = (ends[0] - ends[1]) / (step[row] + down[row])
    return 0.5 * (slopes + slopes.T)


def _bounded_step(
    model: Model, variances: Floats, here: Likelihood, free: Flags, slopes: Floats
) -> tuple[Floats, Likelihood]:
    """The next point and its likelihood: a Newton step cut back at 0, halved while it loses likelihood."""
    step = _newton_step(variances, here.score[0], free, slopes)
    for _ in range(12):
        moved = np.maximum(variances + step, 0.0)
        there = model.likelihood_at(moved)
        if float(there.value[0]) >= float(here.value[0]) - 1e-9:
            return moved, there
        step = 0.5 * step
    return variances, here


def _newton_step(variances: Floats, score: Floats, free: Flags, slopes: Floats) -> Floats:
    """Newton step on the free variances (`slopes` are theirs), directions of wrong curvature turned uphill. Along a flat
    direction nothing moves: a variance that the data can't tell (one member in each fixed club) keeps its start. A
    variance that it would take below 0 stops there, and the others move as is best with it at 0."""
    index, step = np.flatnonzero(free), np.zeros(len(variances))
    inside = np.ones(len(index), dtype=bool)
    while inside.any():
        pull = score[index] + slopes @ np.where(inside, 0.0, step[index])
        values, axes = np.linalg.eigh(-slopes[np.ix_(inside, inside)])
        size = np.abs(values)
        size[size <= FLAT * np.max(size, initial=1e-300)] = np.inf
        step[index[inside]] = axes @ ((axes.T @ pull[inside]) / size)
        below = inside & (variances[index] + step[index] < 0)
        if not below.any():
            break
        step[index[below]] = -variances[index[below]]
        inside = inside & ~below
    return step

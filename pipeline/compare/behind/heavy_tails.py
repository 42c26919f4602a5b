"""The headline where single growers may stand far apart: each grower's tests follow a multivariate t, not a normal.

A check line beside the headline. Weights of growers and the fit are updated in turn (the EM algorithm for the
multivariate t: Lange, Little & Taylor 1989, from memory): w = (nu + n) / (nu + d), d the squared Mahalanobis distance of
a grower's n contrasts. With nu fixed at 4 a grower far from the rest counts less and widens nothing.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pipeline.compare.arrays import Floats
from pipeline.compare.model.design import Design
from pipeline.compare.model.estimate import Estimate, estimate
from pipeline.compare.model.layout import Layout
from pipeline.compare.model.prediction import NewSeries
from pipeline.compare.model.reml import Fit, fit_layout
from pipeline.compare.model.robust import covariance_blocks

DEGREES = 4.0
"""Degrees of freedom of the t: heavy tails, with a variance."""
ROUNDS, SETTLED = 30, 1e-5
"""Most rounds of weights, and the change of a weight at which they stand."""


def with_heavy_tails(near: Estimate) -> tuple[NewSeries, Floats]:
    """(what it says of a new series, weight of each block of growers: 1 in the middle, near 0 far off). Where clubs are
    blocks the weight is a club's."""
    design, weight = near.design, np.ones(int(near.design.layout.block[-1]) + 1)
    fit: Fit = near.fit
    for _ in range(ROUNDS):
        updated = block_weights(design.layout, fit)
        moved = float(np.abs(updated - weight).max())
        weight = updated
        fit = fit_layout(_scaled(design.layout, weight), near=fit)
        if moved < SETTLED:
            break
    weighed = estimate(_with_layout(design, _scaled(design.layout, weight)), near=fit)
    deviation = np.sqrt(weighed.error**2 + weighed.spread)
    degrees = np.minimum((near.units - 1).astype(np.float64), DEGREES)
    return NewSeries(weighed.mean, deviation, degrees), weight


def block_weights(layout: Layout, fit: Fit) -> Floats:
    """w = (nu + n) / (nu + d) of every block, at this fit."""
    residual = layout.y - layout.X @ fit.coefficients
    weights = np.ones(int(layout.block[-1]) + 1)
    for block in range(len(weights)):
        rows = np.flatnonzero(layout.row_block == block)
        covariance = covariance_blocks(layout, fit.variances, rows[None, :])[0]
        distance = float(residual[rows] @ np.linalg.solve(covariance, residual[rows]))
        weights[block] = (DEGREES + len(rows)) / (DEGREES + distance)
    return weights


def _scaled(layout: Layout, weight: Floats) -> Layout:
    """The layout whose fit is that of covariances divided by the weights: responses and means times their roots."""
    root = np.sqrt(weight)[layout.row_block]
    return replace(layout, y=layout.y * root, X=layout.X * root[:, None])


def _with_layout(design: Design, layout: Layout) -> Design:
    return replace(design, layout=layout)

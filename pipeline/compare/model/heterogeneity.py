"""How much growers and series differ, and how much of the scatter that is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Floats
from pipeline.compare.model.estimate import Estimate, spread_parts
from pipeline.compare.model.layout import Layout
from pipeline.compare.model.likelihood import likelihood
from pipeline.compare.model.rotation import reduce_layout


@dataclass(frozen=True)
class Heterogeneity:
    """At the reference share, ln scale: spread between growers, between series of one grower, and the part of all
    scatter that is not pouring error (0-1)."""

    sd_member: float
    sd_series: float
    i2: float

    @property
    def spread(self) -> float:
        """Variance T of a new series about the mean."""
        return self.sd_member**2 + self.sd_series**2


def heterogeneity(estimated: Estimate, reference_share: float) -> Heterogeneity:
    """Spread at the reference share, which need not have been measured."""
    fit = estimated.fit
    share = np.array([reference_share / 100.0])
    between, within = spread_parts(estimated.design, fit.variances[None], share)
    spread = float(between[0, 0] + within[0, 0])
    typical = typical_sampling_variance(fit.layout)
    return Heterogeneity(
        float(np.sqrt(between[0, 0])),
        float(np.sqrt(within[0, 0])),
        spread / (spread + typical) if spread else 0.0,
    )


def typical_sampling_variance(layout: Layout) -> float:
    """(n - p) / tr(P) with P the residual projection under V alone (Higgins & Thompson 2002, multilevel form)."""
    rows, p = layout.X.shape
    bare = _without_random_parts(layout)
    reduced = reduce_layout(bare)
    sampling = likelihood(reduced, np.zeros((1, 0)))
    covariance = np.where(np.isfinite(sampling.covariance[0]), sampling.covariance[0], 0.0)
    trace = float(_inverse_trace(layout) - np.einsum("ij,ji->", covariance, _squared_cross(layout)))
    return float((rows - p) / trace)


def _without_random_parts(layout: Layout) -> Layout:
    none = np.zeros((len(layout.y), 0))
    return Layout(
        layout.y,
        layout.X,
        layout.own_variance,
        layout.reference_variance,
        layout.shared_filling,
        none,
        none,
        none,
        False,
        layout.series,
        layout.member,
        layout.block,
    )


def _weight(layout: Layout) -> tuple[Floats, Floats]:
    """V^-1 = diag(w) - f w w' within a series (Sherman-Morrison): (w per row, f per series)."""
    w = 1.0 / layout.own_variance
    first = np.searchsorted(layout.series, np.arange(layout.series[-1] + 1))
    shared = layout.reference_variance[first]
    return w, shared / (1.0 + shared * np.bincount(layout.series, weights=w))


def _inverse_trace(layout: Layout) -> float:
    w, factor = _weight(layout)
    return float(w.sum() - (factor * np.bincount(layout.series, weights=w**2)).sum())


def _squared_cross(layout: Layout) -> Floats:
    """X' V^-2 X."""
    w, factor = _weight(layout)
    first = np.searchsorted(layout.series, np.arange(layout.series[-1] + 1))
    weighted = np.add.reduceat(layout.X * w[:, None], first, axis=0)
    pushed = layout.X * w[:, None] - (factor[:, None] * weighted)[layout.series] * w[:, None]
    return np.asarray(pushed.T @ pushed)

"""The check with heavy tails: weights and means agree with a dense computation, and a grower far off counts little."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from pipeline.compare.behind.heavy_tails import DEGREES, block_weights, with_heavy_tails
from pipeline.compare.contrasts.cells import Cells
from pipeline.compare.contrasts.effects import contrast
from pipeline.compare.contrasts.independence import Ties, independence
from pipeline.compare.model.design import Form, headline_design
from pipeline.compare.model.estimate import Estimate, estimate

ONE_SHARE = Form(slope=False, series=False, mix=False)


def one_ratio_each(ratios: np.ndarray, sd: float = 0.1) -> Estimate:
    """One grower per ratio, one series, one share of 40 %, pots of that spread."""
    count = len(ratios)
    series = np.repeat(np.arange(count), 2)
    share = np.tile([0.0, 40.0], count)
    mean = np.where(share > 0, np.repeat(ratios, 2), 0.0)
    nothing = np.zeros(2 * count)
    cells = Cells(
        series, series, share, share, np.ones(2 * count, dtype=np.int64), mean, nothing, nothing, nothing.astype(np.int64)
    )  # fmt: skip
    effects = contrast(cells, sd**2)
    return estimate(headline_design(effects, independence(list(range(count)), Ties({}, {}, {})), ONE_SHARE))


def test_a_grower_far_off_counts_little_and_moves_the_mean_little() -> None:
    ratios = np.array([0.30, 0.36, 0.40, 0.44, 0.52, 0.28, 0.47, 0.40, 2.0])
    plain = one_ratio_each(ratios)
    series, weight = with_heavy_tails(plain)
    assert weight[-1] < 0.1 < 0.8 < weight[:-1].min()
    assert abs(series.mean[0] - ratios[:-1].mean()) < 0.05 < abs(plain.mean[0] - ratios[:-1].mean())
    assert series.deviation[0] < np.sqrt(plain.spread[0])


def test_mean_and_weights_are_those_of_the_t_likelihood() -> None:
    """Balanced contrasts, spread held at its end: the mean that maximises the t likelihood by brute force."""
    ratios = np.array([0.1, 0.25, 0.33, 0.4, 0.48, 0.9])
    plain = one_ratio_each(ratios)
    series, weight = with_heavy_tails(plain)
    total = _scale_of(plain, weight)

    def loss(mean: np.ndarray) -> float:
        return float(np.sum(np.log1p((ratios - mean[0]) ** 2 / (DEGREES * total))))

    best = minimize(loss, [0.35], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12})
    assert series.mean[0] == pytest.approx(best.x[0], abs=1e-4)
    expected = (DEGREES + 1) / (DEGREES + (ratios - best.x[0]) ** 2 / total)
    assert weight == pytest.approx(expected, abs=1e-3)


def _scale_of(plain: Estimate, weight: np.ndarray) -> float:
    """The squared scale of the t at the weights: weighted squares about the weighted mean by n - 1 (restricted)."""
    y = plain.design.layout.y
    mean = float(weight @ y / weight.sum())
    return float(weight @ (y - mean) ** 2 / (len(y) - 1))


def test_growers_alike_are_weighed_alike() -> None:
    plain = one_ratio_each(np.array([0.39, 0.40, 0.41, 0.40, 0.40]))
    _, weight = with_heavy_tails(plain)
    assert np.ptp(weight) < 0.05
    assert block_weights(plain.design.layout, plain.fit) == pytest.approx(weight, abs=0.05)

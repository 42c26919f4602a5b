"""The companion: chances with the spread's own uncertainty."""

from __future__ import annotations

import dataclasses
from itertools import pairwise

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from pipeline.compare.model.estimate import estimate
from pipeline.compare.model.prediction import predict
from pipeline.compare.model.rotation import reduce_layout
from pipeline.compare.posterior.companion import (
    Mixture,
    companion,
    new_series_covariance,
    prior_scales,
    spread_posterior,
)
from pipeline.compare.posterior.joint import chance_of_all


def companion_of(design, **more):
    return companion(design, reduce_layout(design.layout), 0.01, 1.25, 40.0, **more)


def test_growers_alike_by_luck_get_a_wider_range_than_their_estimate(drawn_design) -> None:
    design = drawn_design(members=5, spread=0.0, own=0.0)
    plain, careful = predict(estimate(design), 0.01, 1.25), companion_of(design)
    assert np.all(careful.new_high - careful.new_low > 1.1 * 2 * 1.96 * plain.deviation)
    assert careful.sd_member > 0


def test_with_many_growers_it_says_what_the_estimate_says(drawn_design) -> None:
    design = drawn_design(members=60)
    plain, careful = predict(estimate(design), 0.01, 1.25), companion_of(design)
    assert careful.p_clears == pytest.approx(plain.p_clears, abs=0.012)
    assert careful.new_low == pytest.approx(plain.new_low, abs=0.03)


def test_chances_are_in_order(drawn_design) -> None:
    given = companion_of(drawn_design())
    assert np.all(given.p_clears <= given.p_faster)
    assert np.all(given.p_all <= given.p_clears)
    assert given.p_all[-1] == pytest.approx(given.p_clears[-1], abs=2e-3)
    assert np.all(np.abs(given.p_clears_pot - 0.5) <= np.abs(given.p_clears - 0.5) + 0.01)
    assert np.all(np.diff(given.p_all) >= -1e-9)


def test_a_wider_prior_is_never_surer_of_agreement(drawn_design) -> None:
    design = drawn_design(members=5, spread=0.0)
    widths = [companion_of(design, scale=scale) for scale in (0.15, 0.25, 0.40)]
    for narrow, wide in pairwise(widths):
        assert np.all(wide.new_high - wide.new_low > narrow.new_high - narrow.new_low)


def test_equal_numbers_are_called_alike_and_stay_finite(drawn_design) -> None:
    design = drawn_design(members=8, spread=0.0, noise=0.0, own=0.0)
    exact = dataclasses.replace(
        design.layout,
        own_variance=np.full(len(design.layout.y), 1e-8),
        reference_variance=np.full(len(design.layout.y), 1e-8),
    )
    given = companion_of(dataclasses.replace(design, layout=exact))
    assert given.alike
    assert np.all(np.isfinite(given.new_low)) and np.all((given.p_clears >= 0) & (given.p_clears <= 1))
    assert not companion_of(drawn_design()).alike


def test_one_grower_with_most_of_the_series_is_no_crowd(cells_of_means, design_of_cells) -> None:
    curve = np.array([0.0, 0.2, 0.5, 0.7])
    level = np.array([0.3, -0.2, 0.1])[:, None]
    few = cells_of_means(curve + level, series=2)
    many = cells_of_means(curve + level[:1], series=150, seed=8)
    crowd = dataclasses.replace(
        few,
        **{
            name: np.concatenate([getattr(few, name), getattr(many, name) + shift])
            for name, shift in {"member": 0, "series": 100}.items()
        },
        **{
            name: np.concatenate([getattr(few, name), getattr(many, name)])
            for name in ("share", "merged", "pots", "mean", "sum_squares", "floor", "stopped")
        },
    )
    given = companion_of(design_of_cells(crowd))
    plain = companion_of(design_of_cells(few))
    assert np.all(given.new_high - given.new_low > 0.7 * (plain.new_high - plain.new_low))


def test_a_floor_for_a_sparse_share_widens_that_share_alone(drawn_design) -> None:
    design = drawn_design()
    plain = companion_of(design)
    wide = companion_of(design, least_variance=np.array([np.nan, np.nan, np.nan, 1.0]))
    assert wide.new_high[3] - wide.new_low[3] > 3.5
    assert wide.new_low[:3] == pytest.approx(plain.new_low[:3])


def test_the_prior_of_a_slope_is_set_at_the_reference_share(drawn_design) -> None:
    design = drawn_design()
    scales = dict(zip(design.layout.variance_names, prior_scales(design, 40.0), strict=True))
    assert scales == pytest.approx({"member_0": 0.25, "member_1": 0.625, "series_0": 0.25, "mix": 0.25})


def test_it_says_the_same_bytes_every_time(drawn_design) -> None:
    design = drawn_design()
    first, again = companion_of(design), companion_of(design)
    assert first.p_all.tobytes() == again.p_all.tobytes()
    assert first.new_low.tobytes() == again.new_low.tobytes()


def test_the_covariance_of_a_new_series_is_that_of_its_parts(drawn_design) -> None:
    design = drawn_design()
    found = new_series_covariance(design, np.array([[0.04, 0.09, 0.01, 0.005]]))[0]
    x = design.shares / 100
    assert found == pytest.approx(0.05 + 0.09 * np.outer(x, x) + 0.005 * np.eye(4))


def test_quantiles_and_chances_of_a_mixture_belong_together() -> None:
    mixed = Mixture(np.array([0.3, 0.7]), np.array([[0.0], [1.0]]), np.array([[0.04], [0.5]]))
    for level in (0.025, 0.5, 0.975):
        assert mixed.above(float(np.exp(mixed.quantile(level)[0]))) == pytest.approx([1 - level])


def test_the_joint_chance_agrees_with_the_normal_integral() -> None:
    rng = np.random.default_rng(4)
    root = rng.normal(0, 1, (5, 5))
    covariance = root @ root.T / 5 + 0.1 * np.eye(5)
    mean = rng.normal(0.3, 0.4, 5)
    found = chance_of_all(np.full(200, 1 / 200), np.tile(mean, (200, 1)), np.tile(covariance, (200, 1, 1)))
    for start in range(5):
        exact = multivariate_normal(-mean[start:], covariance[start:, start:]).cdf(np.zeros(5 - start))
        assert found[start] == pytest.approx(exact, abs=2e-3)


def test_the_posterior_leans_on_the_prior_where_the_data_are_silent(drawn_design) -> None:
    design = drawn_design(members=3, series=1)
    found = spread_posterior(reduce_layout(design.layout), prior_scales(design, 40.0))
    names = design.layout.variance_names
    slope = found.weight @ np.sqrt(found.variances[:, names.index("member_1")])
    assert 0.2 < slope < 0.8


def test_shares_that_do_not_count_take_no_part_in_the_joint_chance(drawn_design) -> None:
    design = drawn_design()
    counted = np.array([True, True, True, False])
    every, some = companion_of(design), companion_of(design, counted=counted)
    assert np.isnan(some.p_all).tolist() == [False, False, False, True]
    assert np.all(some.p_all[:3] >= every.p_all[:3] - 4e-3)  # the joint chance is good to 2e-3
    assert some.p_all[2] == pytest.approx(some.p_clears[2], abs=2e-3)
    assert np.isnan(companion_of(design, counted=np.zeros(4, dtype=bool)).p_all).all()

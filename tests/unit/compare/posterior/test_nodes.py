"""Nodes of a posterior of standard deviations against integrals known in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.compare.posterior.nodes import even_points, posterior_nodes


def half_normals(scales):
    return lambda sds: -0.5 * np.sum((sds / scales) ** 2, axis=1)


@given(st.lists(st.floats(0.01, 2.0), min_size=1, max_size=5))
@settings(max_examples=25, deadline=None)
def test_half_normal_moments_and_integral_come_back(scales) -> None:
    size = np.array(scales)
    nodes = posterior_nodes(half_normals(size), size)
    assert nodes.weight.sum() == pytest.approx(1.0)
    assert nodes.weight @ nodes.sds == pytest.approx(size * np.sqrt(2 / np.pi), rel=0.05)
    assert nodes.weight @ nodes.sds**2 == pytest.approx(size**2, rel=0.12)
    assert nodes.evidence == pytest.approx(np.sum(np.log(size * np.sqrt(np.pi / 2))), abs=0.04)


def test_a_narrow_top_far_from_zero_is_found() -> None:
    nodes = posterior_nodes(
        lambda s: -0.5 * ((s[:, 0] - 0.3) / 0.01) ** 2 - 0.5 * (s[:, 1] / 0.25) ** 2, np.full(2, 0.25)
    )
    assert nodes.weight @ nodes.sds == pytest.approx([0.3, 0.25 * np.sqrt(2 / np.pi)], rel=0.02)
    assert nodes.effective > 100


def test_a_density_that_falls_steeply_from_zero_is_followed_there() -> None:
    # as the likelihood of eight growers with the same numbers: (e^2 + s^2)^-7/2, nearly all of it within 3e of zero
    e = 1e-3
    nodes = posterior_nodes(lambda s: -3.5 * np.log(e**2 + s[:, 0] ** 2), np.array([0.25]))
    grid = np.linspace(0, 1, 2_000_001)
    density = (e**2 + grid**2) ** -3.5
    assert nodes.weight @ nodes.sds == pytest.approx([np.sum(grid * density) / np.sum(density)], rel=0.05)


def test_no_standard_deviation_is_one_node() -> None:
    nodes = posterior_nodes(lambda s: np.full(len(s), -2.5), np.zeros(0))
    assert (nodes.sds.shape, nodes.weight.tolist(), nodes.evidence) == ((1, 0), [1.0], -2.5)


def test_the_same_nodes_come_out_every_time() -> None:
    first, again = (posterior_nodes(half_normals(np.full(4, 0.25)), np.full(4, 0.25)) for _ in range(2))
    assert first.sds.tobytes() == again.sds.tobytes()
    assert first.weight.tobytes() == again.weight.tobytes()


@pytest.mark.parametrize("dimensions", [1, 4, 8])
def test_points_are_even_and_inside(dimensions) -> None:
    points = even_points(1000, dimensions)
    assert points.shape == (1000, dimensions)
    assert np.all((points > 0) & (points < 1))
    for column in points.T:
        assert np.max(np.abs(np.sort(column) - (np.arange(1000) + 0.5) / 1000)) < 0.02

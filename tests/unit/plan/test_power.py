"""How many pots. Published values: Cohen, Statistical Power Analysis (2nd ed., 1988), table of n for two means at
α = .05 two-sided and power .80 (d .2, .5, .8 → 393, 64, 26 a group; from memory)."""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.plan.power import (
    MOST_POTS,
    Layout,
    baseline_pots,
    chance_seen,
    layout,
    pots_needed,
    smallest_ratio_seen,
)

RATIOS = st.floats(1.02, 4.0)
SCATTERS = st.floats(0.02, 0.5)
POTS = st.integers(2, 20)
MIXES = st.integers(1, 6)


@pytest.mark.parametrize(("d", "pots"), [(0.2, 393), (0.5, 64), (0.8, 26)])
def test_the_published_table(d: float, pots: int) -> None:
    assert chance_seen(Layout(pots, pots, 1), exp(d), 1.0) >= 0.8 - 0.001, "the table's n gives .80"
    assert chance_seen(Layout(pots - 1, pots - 1, 1), exp(d), 1.0) < 0.8, "and one fewer does not"


@pytest.mark.oracles
@pytest.mark.parametrize("pots", [2, 3, 5, 12])
@pytest.mark.parametrize("ratio", [1.05, 1.25, 2.0])
def test_agrees_with_statsmodels(pots: int, ratio: float) -> None:
    from statsmodels.stats.power import TTestIndPower

    for baseline in (pots, 2 * pots):
        expected = TTestIndPower().power(
            log(ratio) / 0.1, pots, 0.025, ratio=baseline / pots, alternative="larger"
        )
        assert chance_seen(Layout(pots, baseline, 1), ratio, 0.1) == pytest.approx(expected, abs=1e-6)


def test_agrees_with_simulated_series() -> None:
    plan, ratio, scatter, series = Layout(3, 5, 3), 1.25, 0.12, 20_000
    rng = np.random.default_rng(15)
    base = rng.normal(0.0, scatter, (series, plan.baseline_pots))
    mixes = rng.normal(log(ratio), scatter, (series, plan.mixes, plan.pots))
    within = ((base - base.mean(axis=1, keepdims=True)) ** 2).sum(axis=1)
    within += ((mixes - mixes.mean(axis=2, keepdims=True)) ** 2).sum(axis=(1, 2))
    error = np.sqrt(within / plan.degrees_of_freedom * (1 / plan.pots + 1 / plan.baseline_pots))
    t = (mixes[:, 0].mean(axis=1) - base.mean(axis=1)) / error
    limit = 2.228138852  # Student's t, 10 degrees of freedom, .975: any table
    assert plan.degrees_of_freedom == 10
    observed = float((t > limit).mean())
    standard_error = (observed * (1 - observed) / series) ** 0.5
    assert chance_seen(plan, ratio, scatter) == pytest.approx(observed, abs=4 * standard_error)


@given(POTS, MIXES, RATIOS, SCATTERS)
def test_more_pots_and_larger_ratios_are_seen_more_often(
    pots: int, mixes: int, ratio: float, scatter: float
) -> None:
    now = chance_seen(layout(pots, mixes), ratio, scatter)
    assert 0.0 <= now <= 1.0
    assert chance_seen(layout(pots + 1, mixes), ratio, scatter) >= now - 1e-9
    assert chance_seen(layout(pots, mixes), ratio * 1.1, scatter) >= now - 1e-9
    assert chance_seen(layout(pots, mixes), 1 / ratio, scatter) == pytest.approx(now), "slower is seen alike"


@given(MIXES, st.floats(0.5, 0.95), st.floats(1.2, 3.0), st.floats(0.02, 0.2))
def test_pots_needed_is_the_fewest(mixes: int, chance: float, ratio: float, scatter: float) -> None:
    needed = pots_needed(mixes, chance, ratio, scatter)
    if needed is None:
        assert chance_seen(layout(MOST_POTS, mixes), ratio, scatter) < chance
        return
    assert chance_seen(needed, ratio, scatter) >= chance
    assert needed.pots == 1 or chance_seen(layout(needed.pots - 1, mixes), ratio, scatter) < chance


def test_nothing_is_seen_where_no_scatter_can_be_measured() -> None:
    assert chance_seen(Layout(1, 1, 1), 100.0, 0.1) == 0.0


@given(POTS, MIXES, SCATTERS)
def test_the_smallest_ratio_is_the_smallest(pots: int, mixes: int, scatter: float) -> None:
    smallest = smallest_ratio_seen(layout(pots, mixes), 0.8, scatter)
    if smallest is None:
        assert chance_seen(layout(pots, mixes), 10.0, scatter) < 0.8
        return
    assert chance_seen(layout(pots, mixes), smallest, scatter) >= 0.8
    assert chance_seen(layout(pots, mixes), smallest - 0.011, scatter) < 0.8


@given(POTS, MIXES)
def test_the_baseline_has_as_many_pots_as_serve_all_mixes_best(pots: int, mixes: int) -> None:
    """At the same number of pots in all no other split has a smaller error of a comparison, to the nearest pot."""
    chosen = baseline_pots(pots, mixes)
    total = chosen + mixes * pots

    def error(baseline: float) -> float:
        return 1 / baseline + mixes / (total - baseline)

    best = min(error(total * at / 1000) for at in range(1, 1000))
    assert error(chosen) <= best * 1.15, "within the rounding to whole pots"

"""What a grower's tests weigh: against the variance of an average of equal growers."""

from __future__ import annotations

import math

import polars as pl
import pytest

from pipeline.compare.shown.weights import HALF_OF_95, OWN_WEIGHTS, own_weights

RATIO, CI = 2.0, (1.6, 2.5)


def _growers(count: int, half_width: float = 0.1, series: int = 1) -> pl.DataFrame:
    wide = math.exp(HALF_OF_95 * half_width)
    return pl.DataFrame(
        {
            "member": [f"fen-{number}" for number in range(count)],
            "ratio_low": [2.0 / wide] * count,
            "ratio_high": [2.0 * wide] * count,
            "series": [series] * count,
        }
    )


@pytest.mark.parametrize("growers", [4, 5, 20])
def test_equal_growers_carry_equal_parts_and_the_range_would_widen_by_a_root(growers: int) -> None:
    """An average of n equal growers has variance v / n; of n - 1 it has v / (n - 1)."""
    weights = own_weights(_growers(growers), RATIO, CI, 0.2, 0.0)
    assert weights.height == growers
    wider = math.sqrt(growers / (growers - 1))
    for row in weights.iter_rows(named=True):
        assert row["part"] == pytest.approx(1 / growers)
        assert row["low"] == pytest.approx(2.0 * 0.8**wider)
        assert row["high"] == pytest.approx(2.0 * 1.25**wider)


def test_a_surer_grower_carries_more_and_parts_sum_to_one() -> None:
    growers = pl.concat([_growers(5), _growers(1, half_width=0.01).with_columns(member=pl.lit("sure"))])
    parts = dict(own_weights(growers, RATIO, CI, 0.2, 0.0).select("member", "part").iter_rows())
    expected = 1 / (0.04 + 0.01**2)
    assert parts["sure"] == pytest.approx(expected / (expected + 5 / (0.04 + 0.01)))
    assert parts["sure"] > parts["fen-0"] and sum(parts.values()) == pytest.approx(1.0)


def test_where_a_figure_is_missing_there_is_no_weight() -> None:
    for weights in (
        own_weights(_growers(3), RATIO, CI, 0.2, 0.0),
        own_weights(_growers(5), RATIO, None, 0.2, 0.0),
        own_weights(_growers(5), None, CI, 0.2, 0.0),
        own_weights(_growers(5), RATIO, CI, None, 0.0),
        own_weights(_growers(5), RATIO, CI, 0.2, None),
    ):
        assert weights.is_empty() and dict(weights.schema) == OWN_WEIGHTS

"""Ranges at other levels: given back at their own level, nested, and wider for single pots."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as some

from pipeline.compare.shown.ranges import average_range, pot_ratios, series_range, t_quantile

RATIO = some.floats(0.1, 10)
HALF = some.floats(0.01, 2)
DF = some.floats(1, 200)


@pytest.mark.parametrize(("df", "point"), [(1, 12.706), (2, 4.303), (4, 2.776), (9, 2.262), (29, 2.045)])
def test_quantiles_are_those_of_the_printed_table(df: float, point: float) -> None:
    """Upper 97.5 % points of Student's t, as printed in any table (from memory)."""
    assert t_quantile(0.975, df) == pytest.approx(point, abs=6e-4)


@given(RATIO, HALF, DF)
def test_the_published_range_is_given_back_and_smaller_ones_lie_inside(
    ratio: float, half: float, df: float
) -> None:
    published = (ratio * math.exp(-half), ratio * math.exp(half))
    assert series_range(ratio, published, df, 0.95) == pytest.approx(published)
    assert average_range(ratio, published, 0.95) == pytest.approx(published)
    for inner, outer in ((0.3, 0.5), (0.5, 0.8), (0.8, 0.95)):
        for low_in, high_in, low_out, high_out in (
            (*series_range(ratio, published, df, inner), *series_range(ratio, published, df, outer)),
            (*average_range(ratio, published, inner), *average_range(ratio, published, outer)),
        ):
            assert low_out < low_in < ratio < high_in < high_out


@given(RATIO, HALF, DF, some.floats(0.01, 1))
def test_single_pots_rise_and_spread_wider_than_series(
    ratio: float, half: float, df: float, pot_sd: float
) -> None:
    published = (ratio * math.exp(-half), ratio * math.exp(half))
    places = (0.025, 0.5, 0.975)
    low, middle, high = pot_ratios(ratio, published, df, pot_sd, places)
    assert low < published[0] and high > published[1]
    assert middle == pytest.approx(ratio)


def test_without_a_range_for_a_new_grower_only_pots_spread() -> None:
    assert series_range(2.0, None, 4, 0.8) == pytest.approx((2.0, 2.0))
    low, high = pot_ratios(2.0, None, 4, 0.1, (0.25, 0.75))
    assert math.log(high / low) == pytest.approx(2 * math.sqrt(2) * 0.1 * t_quantile(0.75, 4))

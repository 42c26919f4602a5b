"""One rule for equal shares, one table of slips, one geometry of pots."""

from __future__ import annotations

import math

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.trade.pots import POT_LEVELS, POT_SIZES, pot_level, pot_size, truncated_cone_ml
from schemas.trade.shares import joins, same_share
from schemas.trade.slips import CLOCK, DECIMAL, SLIPS, Slip, nearest_slip, slips_of


@pytest.mark.parametrize(
    ("first", "second", "same"), [(14.3, 13.8, True), (40, 40.5, True), (40, 40.6, False)]
)
def test_half_a_point_is_the_same_mix(first: float, second: float, same: bool) -> None:
    difference = pl.DataFrame({"a": [float(first)], "b": [float(second)]}).select(
        same_share(pl.col("a") - pl.col("b"))
    )
    assert difference.item() is same


def test_two_points_join() -> None:
    assert joins(33.3, 35.0) and joins(35.0, 33.0) and not joins(33.3, 35.4)


def test_no_slip_explains_ordinary_scatter() -> None:
    assert nearest_slip(math.log(5.0), 0.1) is None
    assert nearest_slip(0.0, 0.01) is None


def test_slips_of_the_clock_and_of_decimals_rise() -> None:
    assert [slip.factor for slip in slips_of(CLOCK, DECIMAL)] == [10.0, 60.0, 100.0, 3600.0]


@given(st.floats(5, 40), st.floats(5, 40))
def test_a_straight_pot_is_a_cylinder(width: float, depth: float) -> None:
    assert truncated_cone_ml(width, width, depth) == pytest.approx(math.pi / 4 * width**2 * depth)


@pytest.mark.parametrize(
    ("volume", "level", "size"),
    [(499.9, 0, 0), (500, 1, 0), (1000, 2, 1), (1500, 2, 1), (1500.1, 2, 2), (5000, 4, 2)],
)
def test_pots_fall_into_bands(volume: float, level: int, size: int) -> None:
    frame = pl.DataFrame({"pot": [float(volume)]})
    assert frame.select(pot_level(pl.col("pot"))).item() == POT_LEVELS[level][0]
    assert frame.select(pot_size(pl.col("pot"))).item() == POT_SIZES[size][0]


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: f"{slip.factor:.4g}")
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_every_slip_explains_its_own_factor_both_ways(slip: Slip, way: float) -> None:
    assert nearest_slip(way * math.log(slip.factor), 0.01) == slip

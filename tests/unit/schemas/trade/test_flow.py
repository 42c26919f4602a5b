"""Rates, front speed, conductivity and viscosity: how each answers to a change of one thing. Values from outside are in
`tests/reference/test_flow_values.py`."""

from __future__ import annotations

import math

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.trade.flow import (
    conductivity_cm_s,
    density_kg_m3,
    factor_to_20c,
    falling_head_cm_s,
    front_speed_cm_s,
    rate_ml_min_l,
    viscosity_mpa_s,
)
from schemas.trade.pots import area_of_volume_cm2, mix_area_cm2, truncated_cone_ml

RUN = {
    "collected_ml": 150.0,
    "poured_ml": 300.0,
    "drain_time_s": 205.0,
    "pot_volume_ml": 1000.0,
    "pot_top_diameter_cm": 13.0,
    "pot_base_diameter_cm": 10.0,
    "fill_depth_cm": 11.0,
}
FACTORS = st.floats(0.1, 10.0)


def of_run(expression: pl.Expr, **changes: float | None) -> float | None:
    """The value of an expression for one run."""
    row = {**RUN, **changes}
    frame = pl.DataFrame(
        {name: [value] for name, value in row.items()}, schema=dict.fromkeys(row, pl.Float64)
    )
    value: float | None = frame.select(expression).item()
    return value


def known(expression: pl.Expr, **changes: float | None) -> float:
    value = of_run(expression, **changes)
    assert value is not None
    return value


def test_a_cup_a_minute_from_a_litre() -> None:
    assert known(rate_ml_min_l(), collected_ml=236.588, drain_time_s=60.0) == pytest.approx(236.588)


@given(FACTORS)
def test_a_rate_falls_with_time_and_pot_and_rises_with_what_came_out(factor: float) -> None:
    rate = known(rate_ml_min_l())
    assert known(rate_ml_min_l(), drain_time_s=205.0 * factor) == pytest.approx(rate / factor)
    assert known(rate_ml_min_l(), pot_volume_ml=1000.0 * factor) == pytest.approx(rate / factor)
    assert known(rate_ml_min_l(), collected_ml=150.0 * factor) == pytest.approx(rate * factor)


@given(FACTORS)
def test_units_cancel_in_a_ratio_of_rates(factor: float) -> None:
    """What a member measures with a wrong cup, in both pots alike, leaves the ratio as it is."""
    slow, fast = ({"collected_ml": 150.0 * factor, "drain_time_s": seconds} for seconds in (400.0, 200.0))
    assert known(rate_ml_min_l(), **fast) / known(rate_ml_min_l(), **slow) == pytest.approx(2.0)


def test_front_speed_is_what_came_out_over_time_and_area() -> None:
    area = math.pi / 4 * 13 * 10
    assert known(front_speed_cm_s()) == pytest.approx(150.0 / (205.0 * area))
    assert known(front_speed_cm_s(), pot_top_diameter_cm=None) == pytest.approx(150.0 / (205.0 * 100.0))


@pytest.mark.parametrize("missing", ["pot_top_diameter_cm", "pot_base_diameter_cm"])
def test_one_width_alone_gives_no_area_of_its_own(missing: str) -> None:
    assert known(mix_area_cm2(), **{missing: None}) == pytest.approx(area_of_volume_cm2(1000.0))


@pytest.mark.parametrize("missing", ["pot_top_diameter_cm", "pot_base_diameter_cm", "fill_depth_cm"])
def test_conductivity_needs_every_inside_length(missing: str) -> None:
    assert of_run(conductivity_cm_s(), **{missing: None}) is None


def test_conductivity_of_a_straight_pot_is_the_falling_head_of_its_water() -> None:
    area = math.pi / 4 * 13**2
    expected = of_run(falling_head_cm_s(pl.lit(11.0), pl.lit(300 / area), pl.lit(150 / area), pl.lit(205.0)))
    assert known(conductivity_cm_s(), pot_base_diameter_cm=13.0) == pytest.approx(expected)


def test_a_falling_head_as_in_the_docstring() -> None:
    assert known(falling_head_cm_s(pl.lit(10.0), pl.lit(4.0), pl.lit(2.0), pl.lit(60.0))) == pytest.approx(
        0.02569, rel=1e-3
    )


@given(st.floats(1, 60), st.floats(1, 40))
def test_little_water_falls_by_darcys_law_alone(depth: float, head: float) -> None:
    """A head that hardly changes: K → L/t · (h1 - h2) / (L + h)."""
    drop = 1e-4
    value = known(falling_head_cm_s(pl.lit(depth), pl.lit(head + drop), pl.lit(head), pl.lit(100.0)))
    assert value == pytest.approx(depth / 100 * drop / (depth + head), rel=1e-3)


@given(st.floats(0, 44))
def test_warmer_water_runs_more_easily(temperature: float) -> None:
    cold, warm = (known(factor_to_20c(pl.lit(value))) for value in (temperature, temperature + 1))
    assert cold > warm
    assert known(viscosity_mpa_s(pl.lit(temperature))) > known(viscosity_mpa_s(pl.lit(temperature + 1)))


def test_twenty_degrees_change_nothing_and_no_temperature_gives_none() -> None:
    assert known(factor_to_20c(pl.lit(20.0))) == pytest.approx(1.0)
    assert of_run(factor_to_20c(pl.lit(None, dtype=pl.Float64))) is None


def test_water_is_densest_near_four_degrees() -> None:
    densities = {tenths: known(density_kg_m3(pl.lit(tenths / 10))) for tenths in range(0, 200, 2)}
    assert 38 <= max(densities, key=lambda tenths: densities[tenths]) <= 42


@given(st.floats(2, 60), st.floats(0.3, 1.0), st.floats(2, 60))
def test_a_tapered_pot_lies_between_its_two_cylinders(top: float, taper: float, depth: float) -> None:
    base = top * taper
    volume = truncated_cone_ml(top, base, depth)
    assert math.pi / 4 * base**2 * depth * 0.999999 <= volume <= math.pi / 4 * top**2 * depth * 1.000001
    assert truncated_cone_ml(base, top, depth) == pytest.approx(volume), "the same pot upside down"

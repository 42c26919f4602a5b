"""Rates beside the runs: formulas by hand, and where there is nothing to say."""

from __future__ import annotations

import math
from typing import Any

import polars as pl
import pytest

from pipeline.normalise.steps import RATE_COLUMNS, add_rates

STRAIGHT_CM = 10.0
AREA_CM2 = math.pi / 4 * STRAIGHT_CM**2


def runs(*changes: dict[str, Any]) -> pl.DataFrame:
    plain: dict[str, Any] = {
        "pot_volume_ml": 1000.0,
        "poured_ml": 300.0,
        "collected_ml": 150.0,
        "drain_time_s": 60.0,
        "ended": "reached",
        "water_temp_c": None,
        "pot_top_diameter_cm": None,
        "pot_base_diameter_cm": None,
        "fill_depth_cm": None,
    }
    text = {"ended": pl.String}
    schema = {name: text.get(name, pl.Float64) for name in plain}
    return pl.DataFrame([plain | change for change in changes], schema=schema, orient="row")


def test_rate_is_per_minute_and_litre() -> None:
    assert add_rates(runs({}))["rate_ml_min_l"].item() == pytest.approx(150.0)
    assert add_rates(runs({"drain_time_s": 30.0, "pot_volume_ml": 500.0}))["rate_ml_min_l"].item() == 600.0


def test_columns_stand_behind_and_nothing_else_changes() -> None:
    before = runs({}, {"ended": "stopped"})
    after = add_rates(before)
    assert tuple(after.columns) == (*before.columns, *RATE_COLUMNS)
    assert after.select(before.columns).equals(before)


def test_a_run_that_ran_dry_has_no_rate_at_all() -> None:
    after = add_rates(runs({"ended": "ran_dry", "water_temp_c": 20.0}, {"ended": "stopped"}))
    assert after.select(RATE_COLUMNS).row(0) == (None, None, None, None)
    assert after["rate_ml_min_l"][1] is not None


def test_front_speed_without_lengths_takes_volume_to_two_thirds() -> None:
    assert add_rates(runs({}))["front_speed_cm_s"].item() == pytest.approx(150 / 60 / 100)


def test_front_speed_of_a_tapered_pot_takes_the_product_of_both_widths() -> None:
    tapered = runs({"pot_top_diameter_cm": 13.0, "pot_base_diameter_cm": 10.0})
    expected = 150 / 60 / (math.pi / 4 * 130)
    assert add_rates(tapered)["front_speed_cm_s"].item() == pytest.approx(expected)
    assert add_rates(tapered)["conductivity_cm_s"].item() is None


def test_conductivity_of_a_straight_pot_from_what_was_poured() -> None:
    # 4 cm of water poured on, 2 cm of it out after 60 s, through 10 cm of mix: domain notes, 0.02569 cm/s
    pot = runs(
        {
            "poured_ml": 4 * AREA_CM2,
            "collected_ml": 2 * AREA_CM2,
            "pot_top_diameter_cm": STRAIGHT_CM,
            "pot_base_diameter_cm": STRAIGHT_CM,
            "fill_depth_cm": 10.0,
        }
    )
    assert add_rates(pot)["conductivity_cm_s"].item() == pytest.approx(0.02569, abs=5e-6)


def test_conductivity_of_a_tapered_pot_solves_the_same_flow_step_by_step() -> None:
    """The closed formula against stepping the falling water: dh/dt = -K · A_mix/A_top · (L + h) / L."""
    top, base, depth, first, last, time_s = 13.0, 9.0, 11.0, 3.0, 1.2, 80.0
    standing = math.pi / 4 * top**2
    pot = runs(
        {
            "poured_ml": first * standing,
            "collected_ml": (first - last) * standing,
            "drain_time_s": time_s,
            "pot_top_diameter_cm": top,
            "pot_base_diameter_cm": base,
            "fill_depth_cm": depth,
        }
    )
    conductivity = add_rates(pot)["conductivity_cm_s"].item()
    slices, steps = 400, 20_000
    resistance = sum(
        depth / slices / (math.pi / 4 * (base + (top - base) * (i + 0.5) / slices) ** 2)
        for i in range(slices)
    )
    head = first
    for _ in range(steps):
        head -= conductivity * (depth + head) / resistance / standing * time_s / steps
    assert head == pytest.approx(last, rel=1e-3)


def test_twenty_degree_view_leaves_the_rate_as_measured() -> None:
    after = add_rates(runs({"water_temp_c": 5.0}, {"water_temp_c": 20.0}, {}))
    assert after["rate_ml_min_l"].to_list() == [150.0, 150.0, 150.0]
    assert after["rate_20c_ml_min_l"][0] == pytest.approx(150 * 1.513, rel=1e-3)
    assert after["rate_20c_ml_min_l"][1] == pytest.approx(150.0)
    assert after["rate_20c_ml_min_l"][2] is None


def test_no_runs_give_no_rates() -> None:
    after = add_rates(runs())
    assert after.height == 0
    assert set(RATE_COLUMNS) <= set(after.columns)

"""Geometry, times and front speeds. Cone volumes and flow values: the project's check values (truncated cone
V = π H/12 (D² + D d + d²); NIST Handbook 44 for the cup)."""

from __future__ import annotations

import dataclasses
from typing import Any

import polars as pl
import pytest

from pipeline.check.plausibility import cone_volume_ml, plausible_rules
from pipeline.check.steps import check_sheets
from pipeline.settings import Settings
from schemas.kinds.run import RUN
from schemas.trade.flow import front_speed_cm_s
from tests.unit.check.sheets import TODAY, base, check, frames, message, mix, problems, said

LENGTHS = {"pot_top_diameter_cm": 13.0, "pot_base_diameter_cm": 10.0, "fill_depth_cm": 11.0}


def rules_of(**changes: Any) -> list[str]:
    return [rule for row, rule in said(check(base(), mix(**changes))) if row == 3]


@pytest.mark.parametrize(
    ("top", "bottom", "depth", "volume_ml"),
    [(13.0, 10.0, 11.0, 1149.04), (9.0, 6.0, 8.5, 380.53)],
)
def test_cone_volume(top: float, bottom: float, depth: float, volume_ml: float) -> None:
    pot = pl.DataFrame(
        {"pot_top_diameter_cm": [top], "pot_base_diameter_cm": [bottom], "fill_depth_cm": [depth]}
    )
    assert pot.select(cone_volume_ml()).item() == pytest.approx(volume_ml, abs=0.005)


@pytest.mark.parametrize(
    ("given_ml", "rules"),
    [
        (1149.04, []),
        (1149.04 / 1.24, []),
        (1149.04 / 1.26, ["cone_volume_differs"]),
        (1149.04 / 0.74, ["cone_volume_differs"]),
        (1149.04 / 1.99, ["cone_volume_differs"]),
        (1149.04 / 2.01, ["cone_volume_far"]),
        (1149.04 * 1.99, ["cone_volume_differs"]),
        (1149.04 * 2.01, ["cone_volume_far"]),
    ],
)
def test_inside_lengths_against_pot_volume(given_ml: float, rules: list[str]) -> None:
    rows = [row(pot_volume_ml=given_ml, **LENGTHS) for row in (base, mix)]
    assert [rule for row, rule in said(check(*rows)) if row == 3] == rules


def test_a_volume_computed_from_the_lengths_is_not_set_against_them() -> None:
    rows = [row(pot_volume_ml=400.0, pot_volume_computed=True, **LENGTHS) for row in (base, mix)]
    assert said(check(*rows)) == []


def test_half_widths_are_named_as_such() -> None:
    half = {"pot_top_diameter_cm": 6.5, "pot_base_diameter_cm": 5.0, "fill_depth_cm": 11.0}
    checked = check(base(**half), mix(**half))
    assert "was half the width typed" in checked.problems["fix"][0]


def test_front_speed_by_geometry_and_by_volume() -> None:
    """q = collected / (time x area): a cup in 60 s through 10 x 10 cm of mix is 236.588 / (60 x 100) cm/s;
    with both inside widths the area is π/4 D d."""
    run = pl.DataFrame(
        {
            "pot_volume_ml": [1000.0, 1000.0],
            "collected_ml": [236.5882365, 236.5882365],
            "drain_time_s": [60.0, 60.0],
            "pot_top_diameter_cm": [None, 13.0],
            "pot_base_diameter_cm": [None, 10.0],
        }
    )
    by_volume, by_geometry = run.select(front_speed_cm_s()).to_series()
    assert by_volume == pytest.approx(236.5882365 / 6000)
    assert by_geometry == pytest.approx(236.5882365 / (60 * 102.10176124166829))


# 150 ml through 100 cm²: q = 1.5 / time
@pytest.mark.parametrize(
    ("time_s", "ended", "rules"),
    [
        (0.29, "reached", ["drains_too_fast"]),
        (0.31, "reached", ["drains_fast"]),
        (2.1, "reached", ["drains_fast"]),
        (2.2, "reached", []),
        (14_900.0, "reached", []),
        (15_100.0, "reached", ["drains_slow"]),
        (86_400.0, "reached", ["drains_slow"]),
        (86_401.0, "reached", []),  # time_long says it
        (740_000.0, "reached", []),
        (760_000.0, "reached", ["drains_too_slow"]),
        (0.29, "stopped", ["drains_too_fast"]),
        (760_000.0, "stopped", []),
        (0.29, "ran_dry", []),
        (760_000.0, "ran_dry", []),
    ],
)
def test_bands_of_front_speed(time_s: float, ended: str, rules: list[str]) -> None:
    found = rules_of(drain_time_s=time_s, ended=ended)
    assert [rule for rule in found if rule.startswith("drains_")] == rules


@pytest.mark.parametrize(
    ("time_s", "ended", "rules"),
    [
        (4.9, "reached", ["time_short"]),
        (5.0, "reached", []),
        (4.9, "stopped", ["time_short"]),
        (86_400.0, "stopped", []),
        (86_401.0, "reached", ["time_long"]),
        (86_401.0, "stopped", ["time_long"]),
        (604_801.0, "reached", ["time_too_long"]),
        (604_801.0, "stopped", ["time_long"]),
    ],
)
def test_bands_of_time(time_s: float, ended: str, rules: list[str]) -> None:
    found = rules_of(drain_time_s=time_s, ended=ended)
    assert [rule for rule in found if rule.startswith("time_")] == rules


def test_a_time_under_twice_the_pouring_time_is_too_short() -> None:
    assert rules_of(drain_time_s=19.0, pour_time_s=10.0) == ["pour_time_long"]
    assert rules_of(drain_time_s=20.0, pour_time_s=10.0) == []


@pytest.mark.parametrize(
    ("time_s", "words"),
    [
        (0.2, "60 times longer"),  # 12 s would be usual
        (0.004, "60 times longer"),
        (0.0025, "1000 times smaller"),  # 0.15 s is not, 2.5 s is
        (900_000.0, "60 times shorter"),  # 4 h 10 min
    ],
)
def test_an_exact_factor_is_named(time_s: float, words: str) -> None:
    checked = check(base(), mix(drain_time_s=time_s))
    fixes = checked.problems.filter(pl.col("rule").str.starts_with("drains_too"))["fix"]
    if time_s == 0.004:
        assert words not in fixes[0]  # 0.24 s would still be too fast
    else:
        assert words in fixes[0]


def test_the_bands_come_from_the_settings() -> None:
    tight = dataclasses.replace(Settings(), front_speed_held_above_cm_s=0.001, long_time_held_s=100.0)
    files, cells, typed = frames([base(), mix()])
    checked = check_sheets(files, cells, typed, problems(), RUN, tight, TODAY)
    assert checked.accepted.height == 0
    assert "0.001 cm/s" in message(checked, "drains_too_fast", 3)
    assert {rule.id for rule in plausible_rules(tight)} == {rule.id for rule in plausible_rules(Settings())}

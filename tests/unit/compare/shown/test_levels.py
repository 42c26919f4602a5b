"""The pool by level: one ratio a grower, averages from three growers on, places from the public runs only."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.compare.shown.levels import AVERAGES, GROWER_RATIOS, grower_ratios, level_averages, levelled
from schemas.trade.levels import ANY, ELSEWHERE, OWN_PART, own_part_level

LEVELS = {"component": "perlite", "setup_type": "rack", "pot_size": "0.75 to 1.5 l", "water": None,
          "climate": "Cfb", "start": "moist", "grade": "fine", "component_share": 40.0}  # fmt: skip


def effects(*rows: tuple[str, float], **changes: object) -> pl.DataFrame:
    """Member and ln ratio of series whose levels are known."""
    frame = pl.DataFrame(rows, schema={"member": pl.String, "effect": pl.Float64}, orient="row")
    return frame.with_columns(pl.lit(value).alias(name) for name, value in {**LEVELS, **changes}.items())


def test_an_average_is_the_geometric_mean_of_growers_from_three_on() -> None:
    fine = effects(("a", 0.0), ("a", 0.2), ("b", 0.4), ("c", 0.6))
    averages = level_averages(grower_ratios(pl.concat([fine, effects(("d", 1.0), grade="coarse")])), None)
    rows = averages.filter(kind="grade").to_dicts()
    assert [(row["level"], row["growers"], row["series"]) for row in rows] == [
        ("fine", 3, 4),
        ("coarse", 1, 1),
    ]
    assert rows[0]["average"] == pytest.approx(2.718281828 ** ((0.1 + 0.4 + 0.6) / 3))
    assert rows[1]["average"] is None and rows[0]["sure_low"] is None


def test_pooled_figures_stand_in_place_of_the_plain_average() -> None:
    ratios = grower_ratios(effects(("a", 0.0), ("b", 0.4), ("c", 0.6), component_share=100 / 3))
    pooled = pl.DataFrame(
        {"component": ["perlite"], "kind": ["grade"], "level": ["fine"], "share": [33.333333], "ratio": [1.7], "low": [1.2], "high": [2.1]}
    )  # fmt: skip
    averages = level_averages(ratios, pooled)
    (row,) = averages.filter(kind="grade").to_dicts()
    assert (row["average"], row["sure_low"], row["sure_high"]) == (1.7, 1.2, 2.1)
    assert averages.filter(kind="setup_type")["average"].to_list() == [None]


@settings(max_examples=40)
@given(st.lists(st.tuples(st.sampled_from("abcd"), st.sampled_from(["Cfb", "BSk"]), st.floats(-1, 2)), min_size=1))  # fmt: skip
def test_any_climate_and_pot_holds_every_grower_of_every_climate(rows: list[tuple[str, str, float]]) -> None:
    frame = pl.concat([effects((member, effect), climate=climate) for member, climate, effect in rows])
    ratios = grower_ratios(frame).filter(kind=OWN_PART)
    everyone = ratios.filter(level=own_part_level(ANY, ANY))
    assert set(everyone["member"]) == {member for member, _, _ in rows}
    assert everyone["series"].sum() == len(rows)
    for climate in ("Cfb", "BSk"):
        there = ratios.filter(level=own_part_level(climate, ANY))
        assert set(there["member"]) == {member for member, where, _ in rows if where == climate}


def test_nothing_known_gives_empty_tables_of_the_same_columns() -> None:
    nothing = levelled(pl.DataFrame(), pl.DataFrame())
    assert nothing.is_empty()
    ratios = grower_ratios(nothing)
    assert dict(ratios.schema) == GROWER_RATIOS
    assert dict(level_averages(ratios, None).schema) == AVERAGES


def test_climate_and_water_come_from_the_public_runs_of_the_series() -> None:
    members = ("a", "b", "c", "d")
    frame = pl.DataFrame({
        "component": "perlite", "state": ["fresh"] * 4, "member": members, "series": ["one"] * 4, "climate_zone": ["Dwd"] * 4,
        "pot_volume_ml": [1000.0] * 4, "component_share": [40.0] * 4, "effect": [0.1] * 4,
    })  # fmt: skip
    runs = pl.DataFrame({
        "member": members, "series": ["one"] * 4, "climate_zone": ["Cfb", "Cfb", "Cfb", "BSk"], "water_temp_c": [9.0, 20.0, None, 20.0],
        "pour_no": [1] * 4, "pre_wetted": ["yes"] * 4, "start_moisture": ["soaked", None, "dry", "moist"],
    })  # fmt: skip
    rows = levelled(frame, runs).sort("member").select("climate", "water", "start").rows()
    assert rows == [
        ("Cfb", "cold, below 15 °C", "soaked"),
        ("Cfb", "15 °C or warmer", "moist"),
        ("Cfb", None, None),
        (ELSEWHERE, "15 °C or warmer", "moist"),
    ]

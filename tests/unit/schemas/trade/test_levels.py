"""Levels of the pages' splits: what a blank means, where a series is mixed, and places that stay unnamed."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl
import pytest

from schemas.trade.levels import ANY, ELSEWHERE, ORDER, level_columns, own_part_level, wet_start
from schemas.trade.pots import POT_SIZES

SCHEMA = {
    "member": pl.String, "series": pl.String, "climate_zone": pl.String, "pot_volume_ml": pl.Float64,
    "water_temp_c": pl.Float64, "start_moisture": pl.String, "pre_wetted": pl.String, "pour_no": pl.Int64,
}  # fmt: skip
PLAIN = {
    "series": "a",
    "climate_zone": "Cfb",
    "pot_volume_ml": 1000.0,
    "water_temp_c": None,
    "start_moisture": "moist",
    "pre_wetted": None,
    "pour_no": 1,
}


def runs(*changes: Mapping[str, object]) -> pl.DataFrame:
    return pl.DataFrame(
        [{"member": f"m{place}", **PLAIN, **change} for place, change in enumerate(changes)], schema=SCHEMA
    )


def levels(frame: pl.DataFrame, name: str) -> list[str | None]:
    column: list[str | None] = frame.with_columns(level_columns(frame))[name].to_list()
    return column


@pytest.mark.parametrize(
    ("temperatures", "level"),
    [
        ((14.9,), "cold, below 15 °C"),
        ((15.0,), "15 °C or warmer"),
        ((10.0, 22.0), "15 °C or warmer"),
        ((10.0, None), "cold, below 15 °C"),
        ((None,), None),
    ],
)
def test_water_is_that_of_the_series_on_average(
    temperatures: tuple[float | None, ...], level: str | None
) -> None:
    frame = runs(*({"member": "m", "water_temp_c": value} for value in temperatures))
    assert levels(frame, "water") == [level] * len(temperatures)


def test_a_climate_is_named_from_three_growers_on() -> None:
    frame = runs(
        *(
            {"climate_zone": zone}
            for zone in ("Cfb", "Cfb", "Cfb", "Dfb", "Dfb", "unknown", "unknown", "unknown")
        ),
        {"climate_zone": None},
    )
    assert levels(frame, "climate") == ["Cfb"] * 3 + [ELSEWHERE] * 6


def test_three_series_of_one_grower_are_one_grower() -> None:
    frame = runs(*({"member": "m", "series": series} for series in "abc"))
    assert levels(frame, "climate") == [ELSEWHERE] * 3


@pytest.mark.parametrize(
    ("change", "start"),
    [
        ({"start_moisture": "soaked"}, "soaked"),
        ({"start_moisture": None}, "moist"),
        ({"start_moisture": None, "pre_wetted": "no"}, None),
        ({"start_moisture": "dry"}, None),
        ({"start_moisture": "moist", "pour_no": 2}, None),
    ],
)
def test_how_wet_a_first_pour_started(change: dict[str, object], start: str | None) -> None:
    assert runs(change).select(wet_start()).item() == start


def test_a_series_with_both_starts_has_none() -> None:
    frame = runs({"member": "m", "start_moisture": "soaked"}, {"member": "m", "start_moisture": "moist"})
    assert levels(frame, "start") == [None, None]


def test_sizes_follow_the_volume() -> None:
    frame = runs({"pot_volume_ml": 300.0}, {"pot_volume_ml": 1000.0}, {"pot_volume_ml": 9000.0})
    assert levels(frame, "pot_size") == [size for size, _ in POT_SIZES]


def test_levels_with_an_order_of_their_own_stand_in_it() -> None:
    assert sorted(["coarse", "fine", "medium"], key=ORDER.__getitem__) == ["fine", "medium", "coarse"]
    assert own_part_level(ANY, ANY) == "any|any"

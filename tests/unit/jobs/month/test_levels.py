"""Pooled ratios of the pool's parts: description from three growers on, places as the public may see them."""

from __future__ import annotations

import polars as pl
import pytest

from pipeline.jobs.month.levels import LEVELS, pooled_levels
from pipeline.normalise.steps import add_rates
from pipeline.settings import Settings
from tests.story.sheets import BASELINE, PLAIN, check, sheet_text


def pool_of(growers: int, pot: str = "1 l") -> pl.DataFrame:
    """Growers with straight base and 40 % beside it, each 1.5 to 1.6 times as fast."""
    sheets = []
    for number in range(growers):
        member = {"member": f"fen-{number:02}", "pot_volume": pot}
        rows = [
            {**BASELINE, **member, "drain_time": "300 s"},
            {**PLAIN, **member, "drain_time": f"{200 - 2 * number} s"},
        ]
        sheets.append(check(sheet_text(rows)).accepted)
    return add_rates(pl.concat(sheets).drop("file_id"))


def test_a_part_of_three_growers_has_an_average_and_its_range() -> None:
    found = pooled_levels(pool_of(4), ["perlite"], Settings())
    assert dict(found.schema) == LEVELS
    (line,) = found.filter(kind="setup_type").to_dicts()
    assert (line["level"], line["share"], line["growers"]) == ("rack", 40.0, 4)
    assert line["low"] < line["ratio"] < line["high"]
    assert line["ratio"] == pytest.approx(1.523, abs=0.01)


def test_a_part_of_two_growers_has_none() -> None:
    assert pooled_levels(pool_of(2), ["perlite"], Settings()).height == 0


def test_places_of_few_are_not_named() -> None:
    runs = pool_of(4).with_columns(
        pl.when(pl.col("member") == "fen-00")
        .then(pl.lit("Dfb"))
        .otherwise("climate_zone")
        .alias("climate_zone")
    )
    levels = set(pooled_levels(runs, ["perlite"], Settings()).filter(kind="climate")["level"])
    assert levels == {"Cfb"}

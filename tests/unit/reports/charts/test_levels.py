"""Levels beside one another: rings are growers, strokes are pooled averages, on one scale."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.charts.levels import levels_chart, levels_top
from reports.page import ChartBlock, text_of
from reports.words import Compared
from tests.unit.reports.charts.picture import domain, layers

PERLITE = Compared("perlite", "straight peat", "any grower")
GROWERS = pl.DataFrame(
    {
        "level": ["rack", "rack", "jug_rim", "sieve"],
        "ratio": [1.2, 1.5, 0.9, 2.1],
        "member": ["a", "b", "c", "d"],
    }
)
AVERAGES = pl.DataFrame(
    {
        "level": ["rack", "jug_rim", "sieve"],
        "growers": [2, 1, 1],
        "series": [3, 1, 2],
        "average": [1.35, None, 2.1],
        "low": [1.2, 0.9, 2.1],
        "high": [1.5, 0.9, 2.1],
        "sure_low": [1.1, None, -0.4],
        "sure_high": [1.6, None, 9.0],
    }
)


def drawn(top: float = 2.5) -> ChartBlock:
    block = levels_chart("setup", GROWERS, AVERAGES, 40.0, PERLITE, "held on", top)
    assert block is not None
    return block


def test_every_grower_is_one_ring_in_the_row_of_their_level() -> None:
    (rings,) = layers(drawn().spec, "point")
    assert [(row["y"], row["x"]) for row in rings] == [
        ("rack", 1.2),
        ("rack", 1.5),
        ("jug rim", 0.9),
        ("sieve", 2.1),
    ]


def test_averages_are_drawn_where_they_are_known() -> None:
    (strokes,) = layers(drawn().spec, "tick")
    assert [(row["y"], row["x"]) for row in strokes] == [("rack", 1.35), ("sieve", 2.1)]


def test_bars_stay_on_the_scale() -> None:
    (bars,) = layers(drawn().spec, "bar")
    assert [(row["y"], row["x"], row["end"]) for row in bars] == [("rack", 1.1, 1.6), ("sieve", 0.0, 2.5)]


def test_rows_stand_in_the_order_of_the_levels() -> None:
    orders = [layer["encoding"]["y"]["sort"] for layer in drawn().spec["layer"] if "y" in layer["encoding"]]
    assert orders and all(order == ["rack", "jug rim", "sieve"] for order in orders)


def test_one_level_is_no_comparison() -> None:
    assert levels_chart("setup", GROWERS, AVERAGES.head(1), 40.0, PERLITE, "held on", 2.5) is None
    assert levels_chart("setup", GROWERS.clear(), AVERAGES.clear(), 40.0, PERLITE, "held on", 2.5) is None


def test_no_average_is_told_as_none() -> None:
    block = drawn()
    assert "jug rim: 1 growers;" in block.description
    assert block.table is not None
    rows = {text_of(row[0].line): [text_of(cell.line) for cell in row[1:]] for row in block.table.rows}
    assert rows["jug rim"] == ["–", "–", "0.90 to 0.90", "1", "1"]
    assert rows["rack"] == ["1.4", "1.1 to 1.6", "1.2 to 1.5", "2", "3"]


@given(st.lists(st.lists(st.floats(0.1, 50.0), max_size=5), max_size=4))
def test_one_scale_holds_every_grower_of_every_split(splits: list[list[float]]) -> None:
    top = levels_top(pl.DataFrame({"ratio": ratios}, schema={"ratio": pl.Float64}) for ratios in splits)
    assert top >= max([1.6, *(1.05 * ratio for ratios in splits for ratio in ratios)])
    assert top * 4 == int(top * 4)


def test_the_scale_is_the_one_that_was_given() -> None:
    assert domain(drawn(3.25).spec, "x") == [0, 3.25]


@pytest.mark.parametrize("height", [2, 5])
def test_the_picture_grows_with_its_levels(height: int) -> None:
    averages = pl.concat(
        [AVERAGES.head(1).with_columns(level=pl.lit(f"level {row}")) for row in range(height)]
    )
    block = levels_chart("setup", GROWERS, averages, 40.0, PERLITE, "held on", 2.5)
    assert block is not None and block.min_height_px == block.spec["height"] == 40 * height

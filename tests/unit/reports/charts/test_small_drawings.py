"""Small drawings of our own: own dots, scoops of a recipe, the map of what nobody tested, and the SVG they are made of."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.answer import Recommendation, Share, Table
from reports.charts.drawing import Drawing
from reports.charts.own_dots import LEFT, RIGHT, own_drawing
from reports.charts.parts import parts_drawing
from reports.charts.spec import data, times_ticks
from reports.charts.unknown_map import unknown_map
from reports.page import DrawingBlock, text_of
from schemas.trade.pots import POT_SIZES
from tests.unit.reports.charts.picture import parts, share_of, svg, words

TEXT = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=20)


@given(TEXT, TEXT)
def test_any_text_comes_out_of_a_drawing_as_it_went_in(described: str, text: str) -> None:
    drawing = Drawing(100, 50, described)
    drawing.words(1.0, 2.0, text, data_name=described)
    tree = svg(drawing.as_svg())
    assert tree.get("aria-label") == described
    (element,) = parts(tree, "text")
    assert (element.text or "") == text and element.get("data-name") == described


def test_lengths_are_written_short() -> None:
    drawing = Drawing(100, 50, "x")
    drawing.add("circle", cx=1.0, cy=2.504, r=0.125, class_="dot")
    (circle,) = parts(svg(drawing.as_svg()), "circle")
    assert [circle.get(name) for name in ("cx", "cy", "r", "class")] == ["1", "2.5", "0.12", "dot"]


@given(st.lists(st.floats(0.01, 1e6), max_size=5))
def test_numbers_of_a_specification_keep_five_digits(values: list[float]) -> None:
    rows = data([{"x": value, "n": 12345678, "t": "text"} for value in values]).to_dict()["values"]
    for row, value in zip(rows, values, strict=True):
        assert row["x"] == pytest.approx(value, rel=5e-5)
        assert (row["n"], row["t"]) == (12345678, "text")


@given(st.floats(1.5, 500))
def test_ticks_hold_the_line_of_straight_base_and_are_few(top: float) -> None:
    ticks = times_ticks(top)
    assert 1.0 in ticks and ticks == sorted(set(ticks))
    assert len(ticks) <= 30 and all(0 < tick <= max(top, 1.0) for tick in ticks)


def table(*shares: Share) -> Table:
    return Table("all grades", "any grower", shares, Recommendation(None, None, "too_few", ""))


def own(*pairs: tuple[float, float | None]) -> pl.DataFrame:
    return pl.DataFrame(
        list(pairs), schema={"component_share": pl.Float64, "ratio": pl.Float64}, orient="row"
    )


def test_own_dots_stand_at_the_own_ratio_and_in_the_pools_range() -> None:
    drawn = own_drawing("own", table(share_of(25.0, 1.1), share_of(40.0, 1.5)), own((25.0, 1.3), (40.0, 0.9)))
    assert drawn is not None
    tree = svg(drawn.svg)
    xs = [float(circle.get("cx") or 0) for circle in parts(tree, "circle")]
    top = 2.0
    assert xs == pytest.approx([LEFT + ratio / top * (RIGHT - LEFT) for ratio in (1.3, 0.9)], abs=0.01)
    assert drawn.description.startswith(
        "25 %: yours 1.3 times as fast, other growers 0.89 to 1.3; 40 %: yours 0.90 times"
    )


def test_own_shares_that_the_pool_does_not_know_are_left_out() -> None:
    drawn = own_drawing(
        "own", table(share_of(25.0, 1.1), share_of(40.0, None)), own((25.0, None), (40.0, 1.5), (60.0, 2.0))
    )
    assert drawn is None


def test_an_own_ratio_beyond_all_others_is_still_on_the_picture() -> None:
    drawn = own_drawing("own", table(share_of(25.0, 1.1)), own((25.0, 7.7)))
    assert drawn is not None
    (circle,) = parts(svg(drawn.svg), "circle")
    assert float(circle.get("cx") or 0) <= RIGHT
    assert "Largest shown: 8.0×" in drawn.caption


@pytest.mark.parametrize(
    ("ratio", "base", "component"), [("3:1", 3, 1), ("1:1", 1, 1), ("2:3", 2, 3), ("5:4", 5, 4)]
)
def test_a_recipe_has_as_many_scoops_as_parts(ratio: str, base: int, component: int) -> None:
    drawn = parts_drawing("parts", ratio, 25.0, "sphagnum_peat", "silica_sand")
    tree = svg(drawn.svg)
    assert len(parts(tree, "path", fill="var(--peat)")) == base
    assert len(parts(tree, "path", fill="var(--mineral)")) == component
    assert {"+", f"{base} peat", f"{component} silica sand"} == set(words(tree))
    assert "25 % silica sand" in drawn.caption
    _, _, width, _ = map(float, (tree.get("viewBox") or "").split())
    assert 44.0 * (base + component) < width


TESTED = pl.DataFrame(
    {
        "member": ["a", "a", "b", "c"],
        "climate": ["Cfb", "Cfb", "Cfb", "Dfb"],
        "pot_size": [POT_SIZES[1][0]] * 3 + [POT_SIZES[0][0]],
        "component_share": [40.0, 40.0, 40.0, 25.0],
    }
)


def drawn_map(frame: pl.DataFrame = TESTED, shares: tuple[float, ...] = (25.0, 40.0)) -> DrawingBlock:
    block = unknown_map("map", frame, list(shares))
    assert block is not None
    return block


def test_the_map_counts_growers_and_leaves_the_rest_open() -> None:
    block = drawn_map()
    tree = svg(block.svg)
    assert len(parts(tree, "rect")) == 3 * 2 * 2
    assert len(parts(tree, "rect", fill="none")) == 10
    assert sorted(text for text in words(tree) if text in "123") == ["1", "2"]
    assert (
        block.description
        == "2 of 12 combinations of climate, pot size and share have been tested; 10 by nobody yet."
    )


def test_the_table_of_the_map_says_the_same() -> None:
    table = drawn_map().table
    assert table is not None
    figures = {text_of(row[0].line): [text_of(cell.line) for cell in row[1:]] for row in table.rows}
    assert figures[f"Cfb, {POT_SIZES[1][0]}"] == ["–", "2"]
    assert figures[f"Dfb, {POT_SIZES[0][0]}"] == ["1", "–"]
    assert len(figures) == 6


def test_nothing_tested_is_no_map() -> None:
    assert unknown_map("map", TESTED.clear(), [25.0]) is None
    assert unknown_map("map", TESTED, []) is None

"""The curve: what is drawn are the results' averages, ranges and series, on axes that hold them."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reports.answer import Recommendation, Share, Table
from reports.charts.curve import SERIES_DRAWN, axes_for, curve
from reports.page import ChartBlock, text_of
from reports.words import Compared, between, percent, two_figures
from tests.rounds import examples
from tests.unit.reports.charts.picture import domain, layers, share_of

PERLITE = Compared("perlite", "straight peat", "any grower")
NOTHING = Recommendation(None, None, "too_few", "")
EFFECTS = {"member": pl.String, "series": pl.String, "component_share": pl.Float64, "ratio": pl.Float64}


def table(*shares: Share, scope: str = "any grower") -> Table:
    return Table("all grades", scope, shares, NOTHING)


def effects(*rows: tuple[str, str, float, float | None]) -> pl.DataFrame:
    return pl.DataFrame(list(rows), schema=EFFECTS, orient="row")


def drawn(shares: Table, rows: pl.DataFrame | None = None, target: float = 1.25) -> ChartBlock:
    block = curve("curve", shares, effects() if rows is None else rows, target, PERLITE)
    assert block is not None
    return block


TWO = table(share_of(25.0, 1.1), share_of(40.0, 1.6))


def test_the_strong_line_goes_through_the_averages_of_the_results() -> None:
    spec = drawn(TWO).spec
    expected = [{"x": 0.0, "y": 1.0}, {"x": 25.0, "y": 1.1}, {"x": 40.0, "y": 1.6}]
    assert layers(spec, "line", "average") == [expected]
    assert layers(spec, "point", "average") == [expected]


def test_bands_are_the_ranges_of_the_results_from_straight_base_on() -> None:
    bands = layers(drawn(TWO).spec, "area", "newgrower")
    assert len(bands) == 5
    outermost = {row["x"]: (row["y"], row["h"]) for row in bands[0]}
    assert outermost[0] == (1, 1)
    for share in TWO.shares:
        assert outermost[share.share] == pytest.approx(share.new_series, rel=1e-4)
    for outer, inner in pairwise(bands):
        assert all(
            wide["y"] <= narrow["y"] and narrow["h"] <= wide["h"]
            for wide, narrow in zip(outer, inner, strict=True)
        )


def test_the_average_has_the_outer_and_a_middle_band() -> None:
    bands = layers(drawn(TWO).spec, "area", "average")
    assert len(bands) == 2
    outer = TWO.shares[1].average_range(0.95)
    assert outer is not None
    assert {row["x"]: row["h"] for row in bands[0]}[40.0] == pytest.approx(outer[1], rel=1e-4)


def test_every_series_starts_at_straight_base_and_passes_its_own_ratios() -> None:
    rows = effects(("b", "2", 25.0, 1.3), ("a", "1", 40.0, 1.7), ("a", "1", 25.0, 0.9))
    (lines,) = layers(drawn(TWO, rows).spec, "line", "member")
    series = {
        number: [(row["x"], row["y"]) for row in lines if row["l"] == number]
        for number in {row["l"] for row in lines}
    }
    assert sorted(series.values()) == [[(0.0, 1.0), (25.0, 0.9), (40.0, 1.7)], [(0.0, 1.0), (25.0, 1.3)]]


def test_a_series_without_a_ratio_at_a_share_skips_it() -> None:
    (lines,) = layers(
        drawn(TWO, effects(("a", "1", 25.0, None), ("a", "1", 40.0, 1.5))).spec, "line", "member"
    )
    assert [(row["x"], row["y"]) for row in lines] == [(0.0, 1.0), (40.0, 1.5)]


def test_of_many_series_an_even_part_is_drawn() -> None:
    rows = effects(*((f"m{number}", "1", 40.0, 1.0 + number / 1000) for number in range(3 * SERIES_DRAWN)))
    (lines,) = layers(drawn(TWO, rows).spec, "line", "member")
    ratios = [row["y"] for row in lines if row["x"]]
    assert len(ratios) == SERIES_DRAWN
    assert min(ratios) < 1.01 and max(ratios) > 1.55, "the first and the last are among them"


def test_the_target_is_the_dashed_line_and_straight_base_the_other() -> None:
    rules = drawn(TWO, target=1.4).spec
    assert layers(rules, "rule") == [[{"y": 1.0}], [{"y": 1.4}]]


def test_without_figures_only_series_are_drawn_and_said() -> None:
    block = drawn(table(share_of(25.0, None)), effects(("a", "1", 25.0, 1.2)))
    assert layers(block.spec, "line", "average") == [] == layers(block.spec, "area")
    assert "too few growers for an average" in block.description
    assert "average over growers" not in block.caption


def test_nothing_measured_is_no_picture() -> None:
    assert curve("curve", table(), effects(), 1.25, PERLITE) is None
    assert curve("curve", table(share_of(25.0, None)), effects(), 1.25, PERLITE) is None


def test_the_text_alternative_tells_every_average_and_range() -> None:
    said = drawn(TWO).description
    for share in TWO.shares:
        assert f"{percent(share.share)}: {two_figures(share.ratio or 0)} times as fast" in said
        assert share.ci is not None and f"average {between(*share.ci)}" in said
        assert share.new_series is not None and f"a new grower {between(*share.new_series)}" in said


def test_the_table_behind_it_has_a_row_for_each_share_known_or_not() -> None:
    block = drawn(table(share_of(25.0, 1.1), share_of(65.0, None)))
    assert block.table is not None
    assert [text_of(row[0].line) for row in block.table.rows] == ["25 %", "65 %"]


def test_band_names_stand_at_the_last_known_share() -> None:
    texts = [row for rows in layers(drawn(TWO).spec, "text") for row in rows]
    assert {row["x"] for row in texts} == {40.0}
    assert {row["t"] for row in texts} == {"the average", "a new grower"}


RATIOS = st.floats(0.2, 30.0)


@settings(max_examples=examples(0.2))
@given(
    st.lists(st.tuples(st.sampled_from((10.0, 25.0, 33.3, 60.0, 100.0)), RATIOS), min_size=1, max_size=4),
    st.floats(1.01, 5.0),
)
def test_axes_hold_what_matters_and_are_the_same_for_every_layer(
    pairs: list[tuple[float, float]], target: float
) -> None:
    shares = table(*(share_of(share, ratio) for share, ratio in sorted(dict(pairs).items())))
    block = drawn(shares, target=target)
    left, right = domain(block.spec, "x")
    bottom, top = domain(block.spec, "y")
    assert left == 0 and max(share.share for share in shares.shares) <= right <= 100
    assert bottom <= 0.5 and bottom < top and target <= top
    for rows in layers(block.spec, "area"):
        assert all(row["h"] <= top + 1e-3 for row in rows)
    for rows in layers(block.spec, "line", "average"):
        assert all(bottom <= row["y"] <= top for row in rows)


def test_curves_beside_one_another_share_their_axes() -> None:
    fine, coarse = table(share_of(25.0, 0.8)), table(share_of(60.0, 2.4))
    rows = effects(("a", "1", 25.0, 0.8), ("a", "1", 60.0, 2.4))
    axes = axes_for([fine, coarse], rows, 1.25)
    specs: list[Any] = []
    for grade in (fine, coarse):
        block = curve("one", grade, rows, 1.25, PERLITE, axes)
        assert block is not None
        specs.append(block.spec)
    assert domain(specs[0], "y") == domain(specs[1], "y") and domain(specs[0], "x") == domain(specs[1], "x")

"""The curve: what is drawn are the results' averages, ranges and series, on axes that hold them."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reports.answer import FRESH, SETTLED, Recommendation, Share, Table
from reports.charts.curve import SERIES_DRAWN, Axes, axes_for, curve, series_points
from reports.headline import Case
from reports.page import DrawingBlock, text_of
from reports.words import Compared, between, mix, two_figures
from tests.rounds import examples
from tests.unit.reports.charts.picture import parts, share_of, svg, words

PERLITE = Compared("perlite", "straight peat", "any grower")
NOTHING = Recommendation(None, None, "too_few", "")
EFFECTS = {"member": pl.String, "series": pl.String, "component_share": pl.Float64, "ratio": pl.Float64}
PAIR = re.compile(r"(-?[\d.]+),(-?[\d.]+)")


def table(*shares: Share) -> Table:
    return Table("all grades", "any grower", shares, NOTHING)


def case(shares: Table, other: Table | None = None) -> Case:
    return Case(SETTLED, shares, shares.known[-1] if shares.known else None, other)


def effects(*rows: tuple[str, str, float, float | None]) -> pl.DataFrame:
    return pl.DataFrame(list(rows), schema=EFFECTS, orient="row")


def drawn(
    shares: Table, rows: pl.DataFrame | None = None, target: float = 1.25, other: Table | None = None
) -> DrawingBlock:
    block = curve("curve", case(shares, other), effects() if rows is None else rows, target, PERLITE)
    assert block is not None
    return block


TWO = table(share_of(25.0, 1.1), share_of(40.0, 1.6))
FRESH_TWO = table(share_of(25.0, 1.3), share_of(40.0, 2.1))


def points(element: ElementTree.Element, name: str = "points") -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in PAIR.findall(element.get(name) or "")]


def places(axes: Axes, *pairs: tuple[float, float]) -> list[tuple[float, float]]:
    return [(round(axes.x(share), 1), round(axes.y(ratio), 1)) for share, ratio in pairs]


def test_the_strong_line_goes_through_the_averages_of_the_deciding_state() -> None:
    axes = axes_for([TWO], effects(), 1.25)
    strong, *_ = parts(svg(drawn(TWO).svg), "polyline", stroke="var(--average)")
    assert points(strong) == places(axes, (0.0, 1.0), (25.0, 1.1), (40.0, 1.6))
    assert drawn(TWO).svg.count('class="average"') == 2


def test_the_other_state_is_dashed_hollow_and_named() -> None:
    block = drawn(TWO, other=FRESH_TWO)
    axes = axes_for([TWO], effects(), 1.25)
    (beside,) = parts(svg(block.svg), "polyline", stroke="var(--ink)")
    assert points(beside) == places(axes, (0.0, 1.0), (25.0, 1.3), (40.0, 2.1))
    assert beside.get("stroke-dasharray") not in (None, "none")
    assert {"settled pots", "freshly filled"} <= set(words(svg(block.svg)))
    assert "Dashed: freshly filled pots." in block.caption
    assert "freshly filled" not in words(svg(drawn(TWO).svg))


def test_bands_are_the_ranges_of_the_results_from_straight_base_on() -> None:
    axes = axes_for([TWO], effects(), 1.25)
    new, average = parts(svg(drawn(TWO).svg), "polygon")
    for polygon, ends in (
        (new, [row.new_series for row in TWO.known]),
        (average, [row.ci for row in TWO.known]),
    ):
        known = [end for end in ends if end is not None]
        there = [(0.0, 1.0), *((row.share, end[1]) for row, end in zip(TWO.known, known, strict=True))]
        back = [(0.0, 1.0), *((row.share, end[0]) for row, end in zip(TWO.known, known, strict=True))]
        assert points(polygon) == places(axes, *there, *reversed(back))
    assert new.get("stroke-dasharray") and average.get("stroke") == "none", "told apart in grey"


def test_every_series_starts_at_straight_base_and_passes_its_own_ratios() -> None:
    rows = effects(("b", "2", 25.0, 1.3), ("a", "1", 40.0, 1.7), ("a", "1", 25.0, 0.9))
    axes = axes_for([TWO], rows, 1.25)
    (path,) = [one for one in parts(svg(drawn(TWO, rows).svg), "path") if one.get("class") == "series-lines"]
    lines = [
        points(ElementTree.Element("path", d=line), "d") for line in (path.get("d") or "").split("M")[1:]
    ]
    assert sorted(lines) == sorted(
        [places(axes, (0, 1.0), (25.0, 0.9), (40.0, 1.7)), places(axes, (0, 1.0), (25.0, 1.3))]
    )


def test_a_series_without_a_ratio_at_a_share_skips_it() -> None:
    kept = series_points(effects(("a", "1", 25.0, None), ("a", "1", 40.0, 1.5)))
    assert [(point.share, point.ratio) for point in kept] == [(40.0, 1.5)]


def test_of_many_series_an_even_part_is_drawn() -> None:
    rows = effects(*((f"m{number}", "1", 40.0, 1.0 + number / 1000) for number in range(3 * SERIES_DRAWN)))
    ratios = [point.ratio for point in series_points(rows)]
    assert len(ratios) == SERIES_DRAWN
    assert min(ratios) < 1.01 and max(ratios) > 1.55, "the first and the last are among them"


def test_results_beyond_the_top_are_marked_and_counted() -> None:
    rows = effects(*((f"m{number}", "1", 40.0, 1.5) for number in range(60)), ("far", "1", 40.0, 160.0))
    block = drawn(TWO, rows)
    (inside,) = [one for one in parts(svg(block.svg), "path") if one.get("class") == "results"]
    (above,) = [one for one in parts(svg(block.svg), "path") if one.get("class") == "beyond"]
    assert (inside.get("d") or "").count("M") == 60 and (above.get("d") or "").count("M") == 1
    assert "▲ at the top: 1 result above" in block.caption


def test_the_target_is_dashed_and_named_and_straight_base_is_named() -> None:
    tree = svg(drawn(TWO, target=1.4).svg)
    axes = axes_for([TWO], effects(), 1.4)
    heights = {
        round(float(line.get("y1") or 0), 1): line.get("stroke-dasharray")
        for line in parts(tree, "line", stroke="var(--ink)")
    }
    assert heights == {round(axes.y(1.0), 1): "none", round(axes.y(1.4), 1): "6 4"}
    assert {"straight peat", "enough: 1.4×"} <= set(words(tree))


def test_what_lies_beyond_the_largest_share_is_hatched_and_said() -> None:
    assert "not tested" in words(svg(drawn(TWO).svg))
    assert "not tested" not in words(svg(drawn(table(share_of(100.0, 2.0))).svg))


def test_the_chosen_share_is_ringed() -> None:
    axes = axes_for([TWO], effects(), 1.25)
    (ring,) = parts(svg(drawn(TWO).svg), "circle")
    assert (float(ring.get("cx") or 0), float(ring.get("cy") or 0)) == pytest.approx(
        (axes.x(40.0), axes.y(1.6)), abs=0.01
    )


@pytest.mark.parametrize("members", [0, 4])
def test_under_five_growers_only_series_are_drawn_and_said(members: int) -> None:
    few = table(share_of(25.0, 1.2 if members else None, members=members))
    block = drawn(few, effects(("a", "1", 25.0, 1.2)))
    tree = svg(block.svg)
    assert parts(tree, "polygon") == [] == parts(tree, "polyline")
    assert "too few growers for an average" in block.description
    assert "Too few growers for an average" in block.caption


def test_nothing_measured_is_no_picture() -> None:
    assert curve("curve", case(table()), effects(), 1.25, PERLITE) is None
    assert curve("curve", case(table(share_of(25.0, None))), effects(), 1.25, PERLITE) is None


def test_the_text_alternative_tells_every_average_and_range() -> None:
    said = drawn(TWO).description
    assert said.startswith("Settled pots")
    for share in TWO.shares:
        assert f"{mix(share.share)}: {two_figures(share.ratio or 0)} times as fast" in said
        assert share.ci is not None and f"average {between(*share.ci)}" in said
        assert share.new_series is not None and f"a new grower {between(*share.new_series)}" in said


def test_the_table_behind_it_has_a_row_for_each_share_known_or_not() -> None:
    block = drawn(table(share_of(25.0, 1.1), share_of(65.0, None)))
    assert block.table is not None
    assert [text_of(row[0].line) for row in block.table.rows] == ["25 % (3:1)", "65 %"]


RATIOS = st.floats(0.2, 30.0)


@settings(max_examples=examples(0.2))
@given(
    st.lists(st.tuples(st.sampled_from((10.0, 25.0, 33.3, 60.0, 100.0)), RATIOS), min_size=1, max_size=4),
    st.floats(1.01, 5.0),
)
def test_axes_hold_what_matters_and_labels_do_not_touch(
    pairs: list[tuple[float, float]], target: float
) -> None:
    shares = table(*(share_of(share, ratio) for share, ratio in sorted(dict(pairs).items())))
    axes = axes_for([shares], effects(), target)
    assert max(share.share for share in shares.shares) == axes.largest <= axes.right <= 100
    assert axes.bottom <= 0.5 and axes.bottom < axes.top and target <= axes.top
    assert all((share.ratio or 0) <= axes.top for share in shares.shares)
    for one in (axes, axes.wide()):
        for polygon in parts(svg(drawn(shares, target=target).svg), "polygon"):
            assert all(0 <= y <= axes.height for _, y in points(polygon))
        assert one.x(one.right) < one.width
    tree = svg(drawn(shares, target=target).svg)
    right = axes.x(axes.right)
    heights = sorted(
        float(text.get("y") or 0) for text in parts(tree, "text") if float(text.get("x") or 0) > right
    )
    assert all(below - above >= 13 for above, below in pairwise(heights))


def test_curves_beside_one_another_share_their_axes() -> None:
    fine, coarse = table(share_of(25.0, 0.8)), table(share_of(60.0, 2.4))
    rows = effects(("a", "1", 25.0, 0.8), ("a", "1", 60.0, 2.4))
    axes = axes_for([fine, coarse], rows, 1.25)
    ticks = []
    for grade in (fine, coarse):
        block = curve("one", Case(FRESH, grade, None, None), rows, 1.25, PERLITE, axes)
        assert block is not None and block.wide is None
        ticks.append(
            [(text.text, text.get("y")) for text in parts(svg(block.svg), "text", text_anchor="end")]
        )
    assert ticks[0] == ticks[1] != []

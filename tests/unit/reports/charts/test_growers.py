"""Growers at one share: every line is the members frame's own numbers, slowest first."""

from __future__ import annotations

import polars as pl
import pytest

from reports.charts.growers import CODES_SHOWN, growers_chart
from reports.page import ChartBlock, text_of
from reports.words import Compared
from tests.unit.reports.charts.picture import domain, layers, share_of

PERLITE = Compared("perlite", "straight peat", "any grower")
MEMBERS = {
    "member": pl.String, "ratio": pl.Float64, "ratio_low": pl.Float64, "ratio_high": pl.Float64,
    "series": pl.Int64, "pots": pl.Int64,
}  # fmt: skip
ROWS = [
    ("teal-21", 1.9, 1.5, 2.3, 2, 8),
    ("fen-07", 1.2, 1.0, 1.4, 1, 2),
    ("snipe-4", 1.5, None, None, 1, None),
    ("gone-1", None, None, None, 1, 1),
]
SHARE = share_of(40.0, 1.5)


def members(*rows: tuple[object, ...]) -> pl.DataFrame:
    return pl.DataFrame(list(rows), schema=MEMBERS, orient="row")


def drawn(frame: pl.DataFrame) -> ChartBlock:
    block = growers_chart("growers", frame, SHARE, PERLITE)
    assert block is not None
    return block


def test_each_grower_is_one_line_from_slow_to_fast() -> None:
    (lines,) = layers(drawn(members(*ROWS)).spec, "rule", "ink")[1:]
    assert [row["member"] for row in lines] == ["fen-07", "snipe-4", "teal-21"]
    by_code = {row["member"]: row for row in lines}
    assert (by_code["fen-07"]["low"], by_code["fen-07"]["ratio"], by_code["fen-07"]["high"]) == (
        1.0,
        1.2,
        1.4,
    )
    assert by_code["snipe-4"]["low"] == by_code["snipe-4"]["high"] == 1.5, "no range, no line"


def test_few_pots_are_drawn_fainter() -> None:
    (lines,) = layers(drawn(members(*ROWS)).spec, "rule", "ink")[1:]
    weight = {row["member"]: row["weight"] for row in lines}
    assert weight["teal-21"] == pytest.approx(1.0) and weight["fen-07"] == pytest.approx(0.675)
    assert weight["snipe-4"] < weight["fen-07"], "an unknown number counts as one pot"


def test_the_table_says_the_same_in_figures() -> None:
    table = drawn(members(*ROWS)).table
    assert table is not None
    rows = [[text_of(cell.line) for cell in row] for row in table.rows]
    assert rows == [
        ["fen-07", "1.2", "1.00 to 1.4", "1", "2"],
        ["snipe-4", "1.5", "–", "1", "1"],
        ["teal-21", "1.9", "1.5 to 2.3", "2", "8"],
    ]
    assert "3 growers, 4 series" in table.note


def test_the_description_names_both_ends() -> None:
    assert drawn(members(*ROWS)).description == (
        "3 growers at 40 % perlite, slowest first: from 1.2 to 1.9 times as fast as their own straight peat."
    )


def test_nobody_measured_is_no_picture() -> None:
    assert growers_chart("growers", members(), SHARE, PERLITE) is None
    assert growers_chart("growers", members(ROWS[3]), SHARE, PERLITE) is None


def test_a_wild_range_does_not_squeeze_the_rest_and_stays_inside() -> None:
    block = drawn(members(*ROWS, ("odd-1", 2.0, 0.1, 90.0, 1, 2)))
    top = domain(block.spec, "x")[1]
    assert top < 4
    (lines,) = layers(block.spec, "rule", "ink")[1:]
    assert max(row["high"] for row in lines) == top


def test_a_range_below_zero_starts_at_zero() -> None:
    (lines,) = layers(drawn(members(("a", 1.0, -0.5, 2.0, 1, 2))).spec, "rule", "ink")[1:]
    assert lines[0]["low"] == 0.0


@pytest.mark.parametrize(("count", "named"), [(CODES_SHOWN, True), (CODES_SHOWN + 1, False)])
def test_codes_are_written_while_there_is_room(count: int, named: bool) -> None:
    block = drawn(
        members(*((f"m-{number:03d}", 1 + number / 100, None, None, 1, 2) for number in range(count)))
    )
    axes = [
        layer["encoding"]["y"].get("axis")
        for layer in block.spec["layer"]
        if "field" in layer["encoding"].get("y", {})
    ]
    assert axes and all((axis is not None) == named for axis in axes)
    assert block.table is not None and len(block.table.rows) == count


def test_bands_are_the_share_s_own_ranges() -> None:
    spec = drawn(members(*ROWS)).spec
    (average,) = layers(spec, "rect", "average")
    assert SHARE.ci is not None and SHARE.new_series is not None
    assert (average[0]["x"], average[0]["h"]) == pytest.approx(SHARE.ci, rel=1e-4)
    widest = layers(spec, "rect", "newgrower")[0][0]
    assert (widest["x"], widest["h"]) == pytest.approx(SHARE.new_series, rel=1e-4)


def test_without_a_range_for_new_growers_none_is_drawn_or_named() -> None:
    block = growers_chart("growers", members(*ROWS), share_of(40.0, 1.5, new_series=None), PERLITE)
    assert block is not None
    assert layers(block.spec, "rect", "newgrower") == [] == layers(block.spec, "text")
    assert "Upright bands" not in block.caption

"""Shares in percent and in parts, and what spreadsheets make of parts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.cells.readings import Setting
from pipeline.intake.cells.shares import read_one_part, read_parts, read_share
from pipeline.intake.characters import fold
from tests.unit.intake.writing import read, rules, sheet, values

SHARE, PARTS, ONE = Setting("component_share"), Setting("parts"), Setting("base_parts")


@pytest.mark.parametrize("one", ["1", "1.0", "1.00"])
def test_a_one_among_fractions_is_held_too(one: str) -> None:
    sheets = read(sheet({"component_share": "0.1"}, {"component_share": one, "pot_no": "2"}))
    assert rules(sheets) == ["share_is_fraction", "share_is_fraction"]
    assert values(sheets, "component_share") == [None, None]
    alone = read(sheet({"component_share": "10"}, {"component_share": one, "pot_no": "2"}))
    assert values(alone, "component_share") == [10.0, 1.0]


@pytest.mark.parametrize(
    ("cell", "percent"),
    [
        ("25", 25.0),
        ("25 %", 25.0),
        ("25%", 25.0),
        ("25％", 25.0),
        ("0", 0.0),
        ("0 %", 0.0),
        ("100", 100.0),
        ("1", 1.0),
        ("33.33", 33.33),
        ("33,33", 33.33),
        ("33.333", 33.333),
        ("12,500", 12.5),
        ("25 percent", 25.0),
        ("25 per cent", 25.0),
    ],
)
def test_percent(cell: str, percent: float | None) -> None:
    assert read_share(fold(cell), SHARE).value == percent


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("0.4", "share_is_fraction"),
        ("0,25", "share_is_fraction"),
        (".5", "share_is_fraction"),
        ("0.4 %", "share_is_fraction"),
        ("½", "fraction_not_read"),
        ("62½", "fraction_not_read"),
        ("37 1/2", "fraction_not_read"),
        ("0.999", "share_is_fraction"),
        ("100.1", "share_outside"),
        ("-1", "share_outside"),
        ("101 %", "share_outside"),
        ("2/5", "fraction_not_read"),
        ("40 ml", "number_form"),
        ("forty", "number_form"),
        ("40 % perlite", "number_form"),
        ("nan", "number_form"),
        ("1e1", "number_form"),
        ("3-Jan", "number_is_date"),
        ("0.100", "share_is_fraction"),
        ("1.234", "share_outside"),
    ],
)
def test_percent_held(cell: str, rule: str) -> None:
    setting = Setting("component_share", decimal_mark=",") if cell == "1.234" else SHARE
    found = read_share(cell, setting)
    assert (found.value, found.rule) == (None, rule)


def test_a_fraction_is_offered_as_percent() -> None:
    assert read_share("0.4", SHARE).details == {"percent": "40"}
    assert read_share("0,125", SHARE).details == {"percent": "12.5"}


@pytest.mark.parametrize(
    ("cell", "percent"),
    [
        ("3:1", 25.0),
        ("3+1", 25.0),
        ("3 to 1", 25.0),
        ("3 TO 1", 25.0),
        ("3to1", 25.0),
        ("3 : 1", 25.0),
        ("3∶1", 25.0),
        ("1:0", 0.0),
        ("1+0", 0.0),
        ("0:1", 100.0),
        ("1:0.5", 100 / 3),
        ("1,5+1", 40.0),
        (".5:.5", 50.0),
        ("10:10", 50.0),
        ("12:30", 3000 / 42),
        ("0.05:1", 100 / 1.05),
        ("2:1", 100 / 3),
    ],
)
def test_parts(cell: str, percent: float) -> None:
    found = read_parts(fold(cell), PARTS)
    assert found.rule is None and found.value == pytest.approx(percent, rel=1e-15)


@pytest.mark.parametrize(
    ("cell", "rule", "offer"),
    [
        ("3:01", "parts_from_time", "3+1"),
        ("1:00", "parts_from_time", "1+0"),
        ("03:01", "parts_from_time", "3+1"),
        ("03:01:00", "parts_from_time", "3+1"),
        ("3:01:00", "parts_from_time", "3+1"),
        ("10:10:00", "parts_from_time", "10+10"),
        ("10:05", "parts_from_time", "10+5"),
        ("3:01 AM", "parts_from_time", "3+1"),
        ("03:01:00 a.m.", "parts_from_time", "3+1"),
        ("3-Jan", "parts_from_date", "3+1 or 1+3, as you meant it"),
        ("1-Mar", "parts_from_date", "3+1 or 1+3, as you meant it"),
        ("03. Jan", "parts_from_date", "3+1 or 1+3, as you meant it"),
        ("Jan-03", "parts_from_date", "3+1 or 1+3, as you meant it"),
        ("2026-01-03", "parts_from_date", "3+1 or 1+3, as you meant it"),
        ("2026-01-03 00:00:00", "parts_from_date", "3+1 or 1+3, as you meant it"),
        ("03.01.2026", "parts_from_date", "3+1 or 1+3, as you meant it"),
        ("3/1/2026", "parts_from_date", "3+1 or 1+3, as you meant it"),
        ("1. Mrz", "parts_from_date", "3+1 or 1+3, as you meant it"),
        ("1-Jan", "parts_from_date", "1+1"),
        ("2. März", "parts_from_date", "3+2 or 2+3, as you meant it"),
    ],
)
def test_what_a_spreadsheet_made_of_parts(cell: str, rule: str, offer: str | None) -> None:
    found = read_parts(cell, PARTS)
    assert (found.value, found.rule, found.details.get("offer")) == (None, rule, offer)


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("3/1", "parts_slashed"),
        ("1 / 3", "parts_slashed"),
        ("2:1:1", "parts_three"),
        ("2+1+1", "parts_three"),
        ("02:01:01", "parts_three"),
        ("0:0", "parts_of_nothing"),
        ("0+0", "parts_of_nothing"),
        ("0:00", "parts_of_nothing"),
        ("3", "parts_form"),
        ("25 %", "parts_form"),
        ("3-1", "parts_form"),
        ("1:-1", "parts_form"),
        ("3:", "parts_form"),
        (":1", "parts_form"),
        ("3:1:", "parts_form"),
        ("three to one", "parts_form"),
        ("3,1,1", "parts_form"),
        ("03+01", "parts_form"),
        ("3 1", "parts_form"),
        ("1.234:1", "decimal_mark_open"),
        ("nan:1", "parts_form"),
        ("1e3:1", "parts_form"),
    ],
)
def test_parts_held(cell: str, rule: str) -> None:
    found = read_parts(cell, PARTS)
    assert (found.value, found.rule) == (None, rule)


@pytest.mark.parametrize(("cell", "value"), [("3", 3.0), ("0", 0.0), ("0,5", 0.5)])
def test_one_part(cell: str, value: float) -> None:
    assert read_one_part(cell, ONE).value == value


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("-1", "number_form"),
        ("3 parts", "number_form"),
        ("½", "fraction_not_read"),
        ("1 1/2", "fraction_not_read"),
        ("1-Feb", "number_is_date"),
        ("1.234", "decimal_mark_open"),
    ],
)
def test_one_part_held(cell: str, rule: str) -> None:
    assert read_one_part(cell, ONE).rule == rule


@given(st.integers(1, 99), st.integers(0, 99), st.sampled_from([":", "+", " to ", " : "]))
def test_parts_are_base_first(base: int, component: int, divided: str) -> None:
    found = read_parts(f"{base}{divided}{component}", PARTS)
    assert found.value == pytest.approx(100 * component / (base + component))


@given(st.text(alphabet="0123456789:+/.,to -JanMr", max_size=12))
def test_whatever_is_typed_gives_a_percent_or_a_rule(cell: str) -> None:
    found = read_parts(fold(cell), PARTS)
    assert (found.value is None) == (found.rule is not None)
    assert found.value is None or (isinstance(found.value, float) and 0 <= found.value <= 100)

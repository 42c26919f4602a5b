"""How members type: headings name canonical columns, units stand in heading or cell, never in both or neither."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from contrib_samples.federation import MEMBERS, Member, Series
from contrib_samples.hands import HANDS, Hand
from contrib_samples.spellings import Run, cell_of, column_of, line_of, number
from schemas.kinds.run import RUN

SERIES = Series(4, "bench", date(2026, 4, 17), "medium", "rack", "1 l", 2, 2)
MEMBER = Member("lf-01", "larkfen", "Cfb", "9a", "plain", (SERIES,))
DRAWN = Run(MEMBER, SERIES, 33.3, 2, 1, date(2026, 4, 17), 205.4, "reached", 12.5, 7)
KINDS = {column.name: column.kind for column in RUN.columns}
MEASURES = ("volume", "time", "length", "temperature")


@pytest.mark.parametrize(
    ("heading", "expected"),
    [
        ("Pot Volume (l)", ("pot_volume", "l")),
        ("Poured [ml]", ("poured", "ml")),
        ("drain_time_s", ("drain_time", "s")),
        ("TESTED ON", ("tested_on", "")),
        ("Climate-Zone", ("climate_zone", "")),
        ("pot_top_diameter_cm", ("pot_top_diameter", "cm")),
    ],
)
def test_a_heading_names_its_column_and_unit(heading: str, expected: tuple[str, str]) -> None:
    assert column_of(heading) == expected


@pytest.mark.parametrize("name", list(HANDS))
def test_every_heading_is_a_column_and_none_that_is_required_is_missing(name: str) -> None:
    columns = [column_of(heading)[0] for heading in HANDS[name].headings]
    assert set(columns) <= set(KINDS)
    assert len(set(columns)) == len(columns)
    required = {column.name for column in RUN.columns if column.required in ("yes", "may be blank")}
    assert required <= set(columns)
    assert "component_share" in columns or "parts" in columns or "base_parts" in columns


@pytest.mark.parametrize("name", list(HANDS))
def test_a_measure_has_its_unit_in_the_heading_or_in_the_cell(name: str) -> None:
    hand = HANDS[name]
    user = next(member for member in MEMBERS if member.hand == name)
    series = user.series[0]
    run = replace(DRAWN, member=user, series=series, share=series.shares[-1])
    for heading, cell in zip(hand.headings, line_of(run, hand), strict=True):
        column, unit = column_of(heading)
        if KINDS[column] not in MEASURES or cell == "" or isinstance(cell, timedelta):
            continue
        bare = str(cell).replace(hand.decimal, ".").replace(".", "", 1).isdigit()
        clock = ":" in str(cell)
        assert clock or bare == bool(unit), (heading, cell)


@pytest.mark.parametrize(
    ("hand", "typed"),
    [
        ("plain", "3:25"),
        ("bare", "205"),
        ("two_columns", "3 min 25 s"),
        ("unicode", "3m25s"),
        ("shouting", "3'25\""),
        ("german_sep", "3,42"),
        ("workbook_clock", timedelta(seconds=205)),
    ],
)
def test_drain_times_as_each_hand_types_them(hand: str, typed: str | timedelta) -> None:
    heading = next(heading for heading in HANDS[hand].headings if column_of(heading)[0] == "drain_time")
    assert cell_of(DRAWN, HANDS[hand], heading) == typed


@pytest.mark.parametrize(
    ("hand", "typed"), [("plain", "33.3 %"), ("spaced", "33.3%"), ("german", "33,3 %"), ("workbook", "33.3")]
)
def test_shares_as_each_hand_types_them(hand: str, typed: str) -> None:
    assert cell_of(DRAWN, HANDS[hand], "component share") == typed


@pytest.mark.parametrize(("hand", "typed"), [("parts", "2:1"), ("parts_plus", "2+1")])
def test_parts_as_each_hand_types_them(hand: str, typed: str) -> None:
    assert cell_of(DRAWN, HANDS[hand], "parts") == typed


def test_parts_in_two_columns() -> None:
    assert cell_of(DRAWN, HANDS["two_columns"], "base parts") == "2"
    assert cell_of(DRAWN, HANDS["two_columns"], "component parts") == "1"


def test_dates_as_typed_in_three_countries() -> None:
    assert cell_of(DRAWN, HANDS["plain"], "tested_on") == "2026-04-17"
    assert cell_of(DRAWN, HANDS["german"], "tested on") == "17.4.2026"
    assert cell_of(DRAWN, HANDS["american"], "Tested On") == "4/17/2026"


def test_american_sheets_use_kitchen_measures_fahrenheit_and_inches() -> None:
    run = replace(DRAWN, series=replace(SERIES, pot="2 quarts"))
    cells = [
        cell_of(run, HANDS["american"], heading)
        for heading in ("Pot Volume", "Poured", "Collected", "Water Temp", "Pot Top Diameter")
    ]
    assert cells == ["2 quarts", "2 1/2 cups", "1 1/4 cups", "54 °F", "6.3 in"]


def test_a_collected_quarter_of_the_pour() -> None:
    run = replace(DRAWN, series=replace(SERIES, collected_part=0.25))
    assert cell_of(run, HANDS["plain"], "collected") == "80 ml"


@pytest.mark.parametrize(("dry", "moisture", "wetted"), [(False, "moist", "yes"), (True, "dry", "no")])
def test_a_dry_start_is_told(dry: bool, moisture: str, wetted: str) -> None:
    run = replace(DRAWN, series=replace(SERIES, dry=dry))
    assert cell_of(run, HANDS["plain"], "start_moisture") == moisture
    assert cell_of(run, HANDS["spaced"], "Pre-wetted") == wetted


def test_what_came_out_is_told_only_where_it_ran_dry() -> None:
    assert cell_of(DRAWN, HANDS["german"], "came out") == ""
    ran_dry = replace(DRAWN, ended="ran_dry", came_out_ml=96.0)
    assert cell_of(ran_dry, HANDS["german"], "came out") == "96 ml"
    assert cell_of(ran_dry, HANDS["american"], "Came Out") == "3.2 fl oz"


def test_numbers_carry_no_padding_zeros() -> None:
    assert [number(value, HANDS["german"], 2) for value in (0.65, 1.5, 12.0, 100.0)] == [
        "0,65",
        "1,5",
        "12",
        "100",
    ]


def test_a_column_that_nobody_fills_in_is_refused() -> None:
    with pytest.raises(ValueError, match="planted"):
        cell_of(DRAWN, Hand(("planted",)), "planted")

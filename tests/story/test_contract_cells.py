"""The contract's section 1, sentence by sentence, one cell at a time: what is read, what is held, what is advice."""

from __future__ import annotations

from datetime import date

import pytest

from tests.story.sheets import BASELINE, PLAIN, TODAY, check, check_rows, one, sheet_text

# column, cell, canonical column, value read
READ = [
    ("tested_on", "2026-03-14 00:00:00", "tested_on", date(2026, 3, 14)),
    ("tested_on", "14.3.2026", "tested_on", date(2026, 3, 14)),
    ("tested_on", "14.03.2026", "tested_on", date(2026, 3, 14)),
    ("climate_zone", "cFB", "climate_zone", "Cfb"),
    ("climate_zone", "bwk", "climate_zone", "BWk"),
    ("setup_type", "RACK", "setup_type", "rack"),
    ("setup_type", " rack\u00a0", "setup_type", "rack"),
    ("pot_volume", "1000 ml", "pot_volume_ml", 1000.0),
    ("pot_volume", "1000ML", "pot_volume_ml", 1000.0),
    ("pot_volume", "1 litre", "pot_volume_ml", 1000.0),
    ("pot_volume", "1.0 Liters", "pot_volume_ml", 1000.0),
    ("pot_volume", "10 dl", "pot_volume_ml", 1000.0),
    ("pot_volume", "100 cl", "pot_volume_ml", 1000.0),
    ("pot_volume", "1000 cc", "pot_volume_ml", 1000.0),
    ("pot_volume", "1000 cm3", "pot_volume_ml", 1000.0),
    ("component_share", "40 %", "component_share", 40.0),
    ("component_share", "40%", "component_share", 40.0),
    ("component_share", "33.333", "component_share", 33.3),
    ("component_share", "100", "component_share", 100.0),
    ("component_share", "1", "component_share", 1.0),
    ("pot_no", "1.0", "pot_no", 1),
    ("pot_no", "2", "pot_no", 2),
    ("drain_time", "3:25.5", "drain_time_s", 205.5),
    ("drain_time", "75:00", "drain_time_s", 4500.0),
    ("drain_time", "0:03:25", "drain_time_s", 205.0),
    ("drain_time", "1:05:10", "drain_time_s", 3910.0),
    ("drain_time", "205 s", "drain_time_s", 205.0),
    ("drain_time", "205s", "drain_time_s", 205.0),
    ("drain_time", "205 sec", "drain_time_s", 205.0),
    ("drain_time", "3.5 min", "drain_time_s", 210.0),
    ("drain_time", "3.5 m", "drain_time_s", 210.0),
    ("drain_time", "1 h 5 min", "drain_time_s", 3900.0),
    ("drain_time", "3m25s", "drain_time_s", 205.0),
    ("drain_time", "3'25\"", "drain_time_s", 205.0),
    ("drain_time", "3 min 25 s", "drain_time_s", 205.0),
    ("ended", "Stopped", "ended", "stopped"),
    ("water_temp", "18 °C", "water_temp_c", 18.0),
    ("water_temp", "18C", "water_temp_c", 18.0),
    ("water_temp", "68 F", "water_temp_c", 20.0),
    ("water_temp", "68°F", "water_temp_c", 20.0),
    ("water_temp", "0 °C", "water_temp_c", 0.0),
    ("hardiness_zone", "8B", "hardiness_zone", "8b"),
    ("growing_place", "Outdoors", "growing_place", "outdoors"),
    ("pre_wetted", "YES", "pre_wetted", "yes"),
    ("hole_size", "8 mm", "hole_size_mm", 8.0),
    ("hole_size", "0.25 in", "hole_size_mm", 6.35),
    ("hole_size", '0.25"', "hole_size_mm", 6.35),
    ("rest_before", "2 days", "rest_before_h", 48.0),
    ("rest_before", "1 week", "rest_before_h", 168.0),
    ("mix_age", "2 months", "mix_age_days", 60.0),
    ("mix_age", "1 year", "mix_age_days", 365.0),
    ("mix_age", "3 weeks", "mix_age_days", 21.0),
    ("pour_time", "8 s", "pour_time_s", 8.0),
    ("drain_holes", "4.0", "drain_holes", 4),
    ("club", "club-3", "club", "club-3"),
    ("base", "", "base", "sphagnum_peat"),
    ("base", "coir", "base", "coir"),
]


@pytest.mark.parametrize(
    ("column", "cell", "canonical", "value"), READ, ids=[f"{c}={v}" for c, v, _, _ in READ]
)
def test_is_read(column: str, cell: str, canonical: str, value: object) -> None:
    if column in ("tested_on",):
        got = check_rows(BASELINE, {**PLAIN, column: cell})
    elif column in ("pot_volume", "climate_zone", "setup_type", "base"):
        got = check_rows({**BASELINE, column: cell}, {**PLAIN, column: cell})
    else:
        got = one(**{column: cell})
    assert got.problems("held") == []
    read = got.accepted.filter(got.accepted["sheet_row"] == 3)[canonical].item()
    assert read == (pytest.approx(value, rel=1e-12) if isinstance(value, float) else value)


CUPS = [
    ("1 cup", 236.5882365),
    ("1/2 cup", 118.29411825),
    ("1 1/2 cups", 354.88235475),
    ("½ cup", 118.29411825),
    ("1½ cups", 354.88235475),
    ("1 metric cup", 250.0),
    ("10 fl oz", 295.735295625),
    ("10 fl. oz.", 295.735295625),
    ("10 imp fl oz", 284.130625),
    ("1 pint", 473.176473),
    ("1 imp pint", 568.26125),
    ("20 tbsp", 295.735295625),
    ("60 tsp", 295.735295625),
    ("18 cubic inches", 294.967152),
    ("0.25 quarts", 236.588236500),
]


@pytest.mark.parametrize(("cell", "millilitres"), CUPS)
def test_kitchen_units(cell: str, millilitres: float) -> None:
    """Factors: NIST Handbook 44 App. C; metric cup 250 ml by common practice."""
    got = check_rows(
        {**BASELINE, "poured": cell, "collected": "120 ml"}, {**PLAIN, "poured": cell, "collected": "120 ml"}
    )
    if millilitres >= 120:
        assert got.problems("held") == []
        assert got.accepted["poured_ml"].to_list() == pytest.approx([millilitres] * 2, rel=1e-9)
    else:
        assert {problem["row"] for problem in got.problems("held")} == {2, 3}
        return
    bare = not any(word in cell for word in ("metric", "imp", "cubic"))
    us = [problem for problem in got.problems("advice") if "US" in problem["message"]]
    assert len(us) == (1 if bare else 0), "one advice line per file says that US customary was read"


HELD = [
    ("member", "x"),
    ("member", "a" * 33),
    ("member", "-fen"),
    ("member", "fen 07"),
    ("member", ""),
    ("series", ""),
    ("series", "s" * 65),
    ("tested_on", ""),
    ("tested_on", "2026-13-01"),
    ("tested_on", "2026-02-30"),
    ("tested_on", "1979-12-31"),
    ("tested_on", "2027-01-01"),
    ("tested_on", "14-3-26"),
    ("tested_on", "3/4/2026"),
    ("climate_zone", ""),
    ("climate_zone", "As"),
    ("climate_zone", "temperate"),
    ("setup_type", "bucket"),
    ("setup_type", ""),
    ("pot_volume", ""),
    ("pot_volume", "1"),
    ("pot_volume", "13 cm"),
    ("pot_volume", "#1"),
    ("pot_volume", "0 l"),
    ("pot_volume", "-1 l"),
    ("pot_volume", "0.01 l"),
    ("pot_volume", "501 l"),
    ("pot_volume", "inf l"),
    ("pot_volume", "nan l"),
    ("pot_volume", "1e999 l"),
    ("base", "compost"),
    ("component", "gravel"),
    ("component", ""),
    ("component_grade", ""),
    ("component_grade", "large"),
    ("component_share", "0.4"),
    ("component_share", "101"),
    ("component_share", "-1"),
    ("component_share", "forty"),
    ("component_share", ""),
    ("pot_no", "0"),
    ("pot_no", "1.5"),
    ("pot_no", ""),
    ("pot_no", "-1"),
    ("pot_no", "two"),
    ("pour_no", ""),
    ("pour_no", "0"),
    ("poured", "300"),
    ("poured", "10 oz"),
    ("poured", "1 c"),
    ("poured", "1 T"),
    ("poured", "300 s"),
    ("poured", ""),
    ("collected", "301 ml"),
    ("collected", "0 ml"),
    ("drain_time", ""),
    ("drain_time", "205"),
    ("drain_time", "1.30"),
    ("drain_time", "3:75"),
    ("drain_time", "0:00"),
    ("drain_time", "3:25 pm"),
    ("drain_time", "-3:25"),
    ("drain_time", "8 days"),
    ("drain_time", "300 ml"),
    ("drain_time", "1:75:00"),
    ("ended", "finished"),
    ("water_temp", "18"),
    ("water_temp", "46 °C"),
    ("water_temp", "-1 °C"),
    ("water_temp", "130 F"),
    ("hardiness_zone", "8"),
    ("hardiness_zone", "14a"),
    ("growing_place", "moon"),
    ("pre_wetted", "maybe"),
    ("start_moisture", "damp"),
    ("sieved", "x"),
    ("hole_size", "8"),
    ("hole_cover", "tape"),
    ("drain_holes", "4.5"),
    ("came_out", "80"),
    ("pour_time", "8"),
    ("rest_before", "2"),
    ("taps", "a few"),
    ("measured_by", "eye"),
    ("peat_type", "black"),
    ("top_layer", "sand"),
    ("planted", "2"),
    ("club", "my club"),
    ("round", "?"),
    ("peat_lot", "a b"),
    ("mix_age", "60"),
    ("run_order", "first"),
    ("notes", "n" * 501),
]


@pytest.mark.parametrize(("column", "cell"), HELD, ids=[f"{c}={v[:20]}" for c, v in HELD])
def test_is_held(column: str, cell: str) -> None:
    got = one(**{column: cell})
    held = got.problems("held", row=3)
    assert held, "the row must be held"
    assert got.counts == (2, 1, 1)
    assert any(problem["column"] in (column, "parts") for problem in held)
    for problem in held:
        assert problem["value"] == (cell if problem["column"] == column else problem["value"])
        assert problem["message"].strip() and problem["fix"].strip()


PARTS = [
    ("3:1", 25.0),
    ("3+1", 25.0),
    ("3 to 1", 25.0),
    ("2:1", 33.3),
    ("1:1", 50.0),
    ("1 : 1", 50.0),
    ("1:0.5", 33.3),
]


@pytest.mark.parametrize(("cell", "share"), PARTS)
def test_parts_are_read(cell: str, share: float) -> None:
    """Parts by volume, base first: common practice of the trade, no source."""
    first = {**BASELINE, "parts": "1:0"}
    second = {**PLAIN, "parts": cell}
    for row in (first, second):
        del row["component_share"]
    got = check_rows(first, second)
    assert got.problems("held") == []
    assert got.accepted["component_share"].to_list() == [0.0, share]


@pytest.mark.parametrize(
    "cell", ["3:01", "1:00", "03:01", "03:01:00", "3-Jan", "2:1:1", "0:0", "three to one", "1:-1", "3,1,1"]
)
def test_what_a_spreadsheet_made_of_parts_is_held(cell: str) -> None:
    second = {**PLAIN, "parts": cell, "component_share": ""}
    got = check_rows({**BASELINE, "parts": ""}, second)
    held = got.problems("held", row=3, column="parts")
    assert held and held[0]["value"] == cell
    if cell not in ("2:1:1", "0:0", "three to one", "1:-1", "3,1,1"):
        assert "+" in held[0]["fix"] + held[0]["message"], "offers the plus sign"


def test_parts_and_share_must_agree_within_half_a_point() -> None:
    assert one(parts="2:1", component_share="33").problems("held") == []
    assert one(parts="2:1", component_share="34").problems("held", row=3)


def test_two_columns_of_parts() -> None:
    rows = [
        {**BASELINE, "base_parts": "1", "component_parts": "0"},
        {**PLAIN, "base_parts": "3", "component_parts": "2"},
    ]
    for row in rows:
        del row["component_share"]
    got = check_rows(*rows)
    assert got.problems("held") == []
    assert got.accepted["component_share"].to_list() == [0.0, 40.0]


def test_unknown_climate_is_advice() -> None:
    got = check_rows({**BASELINE, "climate_zone": "unknown"}, {**PLAIN, "climate_zone": "Unknown"})
    assert got.counts == (2, 2, 0)
    assert got.problems("advice", column="climate_zone")


def test_small_and_large_pots_get_advice() -> None:
    for volume in ("0.04 l", "60 l"):
        poured, collected = ("12 ml", "6 ml") if volume == "0.04 l" else ("12 l", "6 l")
        rows = [
            {**row, "pot_volume": volume, "poured": poured, "collected": collected}
            for row in (BASELINE, PLAIN)
        ]
        assert check_rows(*rows).problems("advice", column="pot_volume"), volume


def test_pot_volume_from_the_three_lengths() -> None:
    """13/10/10 cm: 1045.4 ml from V = π H/12 (D² + D d + d²)."""
    lengths = {
        "pot_volume": "",
        "pot_top_diameter": "13 cm",
        "pot_base_diameter": "100 mm",
        "fill_depth": "10 cm",
    }
    got = check_rows({**BASELINE, **lengths}, {**PLAIN, **lengths})
    assert got.counts == (2, 2, 0)
    assert got.accepted["pot_volume_ml"].to_list() == pytest.approx([1044.58] * 2, rel=1e-3)
    assert got.problems("advice", column="pot_volume"), "computed, and said so"
    far = {**lengths, "pot_volume": "4 l"}
    assert check_rows({**BASELINE, **far}, {**PLAIN, **far}).counts == (2, 0, 2)
    near = {**lengths, "pot_volume": "1.4 l"}
    got = check_rows({**BASELINE, **near}, {**PLAIN, **near})
    assert got.counts == (2, 2, 0) and got.problems("advice", column="pot_volume")


def test_units_in_the_heading() -> None:
    text = (
        sheet_text([BASELINE, PLAIN])
        .replace("drain_time", "Drain Time (s)")
        .replace("3:25", "205")
        .replace("5:10", "310")
    )
    text = (
        text.replace("pot_volume", "POT-VOLUME [ml]")
        .replace("1 l,", "1000,")
        .replace("poured", "poured_ml")
        .replace("300 ml", "300")
    )
    got = check(text)
    assert got.counts == (2, 2, 0)
    assert got.accepted["drain_time_s"].to_list() == [310.0, 205.0]
    assert got.accepted["pot_volume_ml"].to_list() == [1000.0, 1000.0]


def test_heading_and_cell_units_that_differ_are_held() -> None:
    text = sheet_text([BASELINE, PLAIN]).replace("poured", "poured_ml").replace(",300 ml", ",0.3 l", 1)
    got = check(text)
    assert got.counts == (2, 1, 1) and got.problems("held", row=2, column="poured")


def test_minutes_and_seconds_are_read_whatever_the_heading_says() -> None:
    text = sheet_text([BASELINE, PLAIN]).replace("drain_time", "drain_time_s")
    assert check(text).accepted["drain_time_s"].to_list() == [310.0, 205.0]


def test_bare_numbers_in_minutes_heading() -> None:
    text = sheet_text([BASELINE, {**PLAIN, "drain_time": "3.5"}]).replace("drain_time", "drain time (min)")
    assert check(text).accepted["drain_time_s"].to_list() == [310.0, 210.0]


@pytest.mark.parametrize(
    ("dates", "outcome"),
    [
        (("3/14/2026", "3/4/2026"), ("advice", [date(2026, 3, 14), date(2026, 3, 4)])),
        (("14/3/2026", "3/4/2026"), ("advice", [date(2026, 3, 14), date(2026, 4, 3)])),
        (("3/4/2026", "4/4/2026"), ("held", [])),
        (("14/3/2026", "3/14/2026"), ("held", [])),
    ],
)
def test_slashed_dates(dates: tuple[str, str], outcome: tuple[str, list[date]]) -> None:
    got = check_rows({**BASELINE, "tested_on": dates[0]}, {**PLAIN, "tested_on": dates[1]})
    level, read = outcome
    assert got.accepted["tested_on"].to_list() == read
    assert len(got.problems(level, column="tested_on")) == (1 if level == "advice" else 2)
    if dates == ("3/4/2026", "4/4/2026"):
        assert (
            "2026-04-03" in got.problems("held")[0]["message"]
            and "2026-03-04" in got.problems("held")[0]["message"]
        )


@pytest.mark.parametrize(
    ("cell", "typed"),
    [
        ("3:25:00", "3 min 25 s"),
        ("3:25:00.0", "3 min 25 s"),
        ("0:04:00", "4 s"),
        ("3:25:00 AM", "3 min 25 s"),
    ],
)
def test_a_time_that_a_spreadsheet_made_is_held_by_itself(cell: str, typed: str) -> None:
    got = one(drain_time=cell)
    (held,) = got.problems("held")
    assert (held["row"], held["column"], held["value"]) == (3, "drain_time", cell)
    assert typed in held["fix"]
    assert one(drain_time=typed).counts == (2, 2, 0), "what is offered is read"


def test_a_heading_of_hours_and_minutes_holds_minutes_and_seconds() -> None:
    text = sheet_text([BASELINE, {**PLAIN, "drain_time": "0:03:25"}]).replace(
        "drain_time", "drain_time (hh:mm)"
    )
    got = check(text)
    (held,) = got.problems("held")
    assert (held["row"], held["column"], held["value"]) == (2, "drain_time", "5:10")
    assert "5 min 10 s" in held["fix"] and got.counts == (2, 1, 1)


@pytest.mark.parametrize("bracket", ["(% by weight)", "(mass %)", "(fraction)", "(peat %)", "[by mass]"])
def test_a_bracket_that_changes_the_meaning_holds_the_column(bracket: str) -> None:
    got = check(sheet_text([BASELINE, PLAIN]).replace("component_share", f"component_share {bracket}"))
    assert got.counts == (2, 0, 2)
    assert [(one["row"], one["value"]) for one in got.problems("held", column="component_share")] == [
        (2, "0"),
        (3, "40"),
    ]


def test_what_a_bracket_says_of_the_order_is_used() -> None:
    rows = [{**BASELINE, "parts": "0:1"}, {**PLAIN, "parts": "2:3"}]
    for row in rows:
        del row["component_share"]
    got = check(sheet_text(rows).replace("parts", "parts (perlite:peat)"))
    assert got.counts == (2, 2, 0) and got.accepted["component_share"].to_list() == [0.0, 40.0]
    dated = [{**BASELINE, "tested_on": "5/4/2026"}, {**PLAIN, "tested_on": "05/13/2026"}]
    got = check(sheet_text(dated).replace("tested_on", "tested_on (DD/MM/YYYY)"))
    assert got.accepted["tested_on"].to_list() == [date(2026, 4, 5)]
    assert [one["value"] for one in got.problems("held", column="tested_on")] == ["05/13/2026"]


def test_plural_headings_name_no_seconds() -> None:
    for heading in ("DrainTimes", "drain times"):
        text = sheet_text([BASELINE, {**PLAIN, "drain_time": "205"}]).replace("drain_time", heading)
        assert [one["row"] for one in check(text).problems("held", column="drain_time")] == [3]


def test_minutes_that_may_be_minutes_and_seconds_are_asked_about_once() -> None:
    rows = [{**BASELINE, "drain_time": "5.10"}, {**PLAIN, "drain_time": "3.25"}]
    got = check(sheet_text(rows).replace("drain_time", "drain_time_min"))
    assert got.counts == (2, 2, 0) and got.accepted["drain_time_s"].to_list() == [306.0, 195.0]
    (asked,) = [one for one in got.problems("advice") if one["rule"] == "minutes_like_seconds"]
    assert asked["row"] is None and "5 min 6 s" in asked["message"] and "5:10" in asked["fix"]
    for times in (("5.5", "3.0"), ("5.10", "3.75"), ("5.10", "205 s")):
        rows = [{**row, "drain_time": time} for row, time in zip((BASELINE, PLAIN), times, strict=True)]
        text = sheet_text(rows).replace("drain_time", "drain_time_min")
        assert not [one for one in check(text).problems("advice") if one["rule"] == "minutes_like_seconds"]


def test_a_cell_too_long_to_be_read_is_held() -> None:
    got = one(drain_time="205 s" + " " * 200 + "(no: 20 min)")
    assert [one["row"] for one in got.problems("held", column="drain_time")] == [3]


FRACTIONS = [
    ("component_min_size", "2/4 mm"),
    ("water_temp", "18/19 C"),
    ("drain_time", "3/4 min"),
    ("pot_top_diameter", "13/11 cm"),
    ("component_min_size", "4/2 in"),
    ("parts", "1/3"),
    ("parts", "3/1"),
]


@pytest.mark.parametrize(("column", "cell"), FRACTIONS, ids=[f"{c}={v}" for c, v in FRACTIONS])
def test_a_range_is_no_fraction(column: str, cell: str) -> None:
    share = {"component_share": ""} if column == "parts" else {}
    got = one(**{column: cell}, **share)
    assert got.counts == (2, 1, 1)
    assert [problem["value"] for problem in got.problems("held", row=3, column=column)] == [cell]


def test_inches_are_read_in_fractions() -> None:
    got = one(component_min_size="1/8 in", component_max_size="1 1/4 in")
    assert got.counts == (2, 2, 0)
    read = got.accepted.row(1, named=True)
    assert (read["component_min_size_mm"], read["component_max_size_mm"]) == (3.175, 31.75)


def test_parts_with_a_slash_are_offered_both_ways() -> None:
    (held,) = one(parts="1/3", component_share="").problems("held", column="parts")
    assert "1+3" in held["fix"] and "2+1" in held["fix"] and "one third" in held["fix"]


@pytest.mark.parametrize(
    ("volumes", "read"),
    [
        (("0,5 l", "1.234 l"), None),
        (("0.5 l", "1,234 ml"), 1234.0),
        (("1.234,5 ml", "1.234 ml"), 1234.0),
        (("1.5 l", "1.234 l"), 1234.0),
    ],
)
def test_decimal_mark_is_settled_per_file(volumes: tuple[str, str], read: float | None) -> None:
    rows = [
        {**BASELINE, "series": "s1", "pot_volume": volumes[0]},
        {**PLAIN, "series": "s2", "pot_volume": volumes[1]},
    ]
    got = check_rows(*rows)
    second = got.accepted.filter(got.accepted["sheet_row"] == 3)
    if read is None:
        # a comma is the file's decimal mark, so 1.234 l is one thousand two hundred and thirty-four litres: too large
        assert got.problems("held", row=3, column="pot_volume")
    else:
        assert second["pot_volume_ml"].item() == pytest.approx(read)


def test_a_lone_mark_before_three_digits_is_held_when_nothing_settles_it() -> None:
    got = check_rows(BASELINE, {**PLAIN, "pot_volume": "1.000 l"})
    assert got.problems("held", row=3, column="pot_volume")


def test_every_problem_of_a_row_in_one_pass() -> None:
    got = one(setup_type="bucket", poured="300", drain_time="1.30", water_temp="60 °C")
    assert {problem["column"] for problem in got.problems("held", row=3)} >= {
        "setup_type",
        "poured",
        "drain_time",
        "water_temp",
    }


def test_not_later_than_today() -> None:
    assert check_rows({**BASELINE, "tested_on": TODAY.isoformat()}).counts == (1, 1, 0)
    assert check_rows({**BASELINE, "tested_on": "2026-06-02"}).counts == (1, 0, 1)


def test_blank_start_moisture_gets_advice_and_ran_dry_is_accepted() -> None:
    assert one(start_moisture="").problems("advice", column="start_moisture")
    got = one(ended="ran_dry", came_out="80 ml")
    assert got.counts == (2, 2, 0) and got.problems("advice", row=3, column="ended")


def test_part_outside_40_to_60_percent_is_accepted_and_marked() -> None:
    rows = [{**BASELINE, "collected": "60 ml"}, {**PLAIN, "collected": "60 ml"}]
    got = check_rows(*rows)
    assert got.counts == (2, 2, 0)
    assert got.accepted["part_marked"].to_list() == [True, True]


def test_implausible_drainage_is_held_and_unusual_gets_advice() -> None:
    assert one(drain_time="0.2 s").problems("held", row=3)
    assert one(drain_time="4 s").problems("advice", row=3)
    assert one(drain_time="25 h").problems("advice", row=3)
    assert one(drain_time="169 h").problems("held", row=3)

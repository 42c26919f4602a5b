"""Whole sheets through intake: what is held, what is said once, what the frames hold."""

from __future__ import annotations

import json
from datetime import date
from hashlib import sha256

import polars as pl
import pytest

from pipeline.intake.rows.typed import typed_schema
from pipeline.intake.steps import ReceivedFile, read_sheets
from schemas.kinds.run import RUN
from tests.unit.intake.writing import PLAIN, read, rules, sheet, values


def test_a_plain_sheet_has_nothing_to_be_said() -> None:
    text = sheet({}, {"pot_no": "2"})
    sheets = read(text)
    assert rules(sheets) == []
    assert sheets.files.rows() == [(0, "sheet-0.csv", sha256(text.encode()).hexdigest(), 2, True, "")]
    assert sheets.cells.columns == ["file_id", "sheet_row", *PLAIN]
    assert sheets.cells["sheet_row"].to_list() == sheets.typed["sheet_row"].to_list() == [2, 3]
    assert dict(sheets.typed.schema) == typed_schema(RUN)


def test_values_in_canonical_units() -> None:
    sheets = read(
        sheet(
            {
                "water_temp": "68 F",
                "rest_before": "2 days",
                "mix_age": "2 months",
                "hole_size": "0.8 cm",
                "component_min_size": "2 mm",
                "pour_time": "0:08",
                "taps": "5",
                "fill_depth": "100 mm",
                "notes": "  =SUM(A1) ",
                "club": "Club-3",
            }
        )
    )
    assert rules(sheets) == []
    row = sheets.typed.row(0, named=True)
    expected = {
        "member": "fen-07",
        "member_key": "fen-07",
        "series": "bench A",
        "series_key": "bench a",
        "tested_on": date(2026, 3, 14),
        "pot_volume_ml": 1000.0,
        "pot_volume_computed": False,
        "base": "sphagnum_peat",
        "component_share": 40.0,
        "poured_ml": 300.0,
        "drain_time_s": 205.0,
        "ended": "reached",
        "water_temp_c": 20.0,
        "rest_before_h": 48.0,
        "mix_age_days": 60.0,
        "hole_size_mm": 8.0,
        "component_min_size_mm": 2.0,
        "pour_time_s": 8.0,
        "taps": 5,
        "fill_depth_cm": 10.0,
        "notes": "=SUM(A1)",
        "club": "Club-3",
        "hardiness_zone": None,
    }
    assert {name: row[name] for name in expected} == expected


@pytest.mark.parametrize("column", [column.name for column in RUN.columns if column.required == "yes"])
def test_a_blank_required_cell_is_held_once(column: str) -> None:
    sheets = read(sheet({}, {column: " \u00a0"}))
    assert sheets.problems.select("sheet_row", "column", "value", "rule").rows() == [
        (3, column, "", "blank_cell")
    ]


def test_all_problems_of_a_row_each_once() -> None:
    sheets = read(
        sheet({"setup_type": "bucket", "poured": "300", "drain_time": "1.30", "water_temp": "60 °C"})
    )
    told = sheets.problems.select("column", "value", "rule").rows()
    assert told == [
        ("setup_type", "bucket", "word_unknown"),
        ("poured", "300", "unit_missing"),
        ("drain_time", "1.30", "time_with_point"),
        ("water_temp", "60 °C", "temperature_outside"),
    ]
    assert values(sheets, "drain_time_s") == [None] and values(sheets, "collected_ml") == [150.0]


def test_an_unreadable_file_never_stops_the_others() -> None:
    sheets = read(b"%PDF-1.4", sheet({}), b"", sheet({}, {}))
    assert sheets.files.select("file_id", "rows", "readable").rows() == [
        (0, 0, False),
        (1, 1, True),
        (2, 0, False),
        (3, 2, True),
    ]
    assert sheets.cells["file_id"].to_list() == [1, 3, 3]
    assert sheets.problems.select("file_id", "sheet_row", "rule").rows() == [
        (0, None, "not_text"),
        (2, None, "file_empty"),
    ]


def test_nothing_but_unreadable_files() -> None:
    sheets = read(b"", b"\x89PNG")
    assert sheets.cells.is_empty() and sheets.typed.is_empty() and sheets.problems.height == 2
    assert dict(sheets.typed.schema) == typed_schema(RUN)
    empty = read_sheets([], RUN)
    assert empty.files.is_empty() and empty.problems.is_empty()


def test_a_heading_without_rows_is_unreadable_and_nothing_else_is_said() -> None:
    sheets = read((sheet({"weather": "rain"}).split("\r\n")[0] + "\r\n,,,\r\n").encode("utf-8"))
    assert rules(sheets) == ["no_rows"] and not sheets.files["readable"].item()


def test_a_missing_column_holds_the_file_with_one_problem_and_counts_its_rows() -> None:
    sheets = read(sheet({"pour_no": None, "poured": "300"}, {}))  # type: ignore[dict-item]
    assert sheets.problems.select("sheet_row", "column", "rule").rows() == [
        (None, "pour_no", "column_missing")
    ]
    assert sheets.files["rows"].item() == 2 and sheets.files["readable"].item()
    assert sheets.cells.height == sheets.typed.height == 2
    assert values(sheets, "member") == [None, None]


def test_several_missing_columns_are_one_problem() -> None:
    sheets = read("member;series;weather\nfen-07;a;rain\n")
    held = sheets.problems.filter(pl.col("rule") == "column_missing").row(0, named=True)
    assert held["column"] is None and "drain_time" in json.loads(held["details"])["columns"]
    assert "weather" in json.loads(held["details"])["unknown"]
    assert rules(sheets) == ["column_missing", "column_unknown"]


def test_the_same_column_twice_holds_the_file() -> None:
    sheets = read(sheet({"drain time (min)": "3"}))
    assert rules(sheets) == ["column_twice"] and rules(sheets, row=None) == ["column_twice"]


def test_unknown_and_unnamed_columns_are_said_once_each() -> None:
    text = sheet({"weather": "rain", "": ""}, {"": "x"}, {"": "y"})
    sheets = read(text)
    assert rules(sheets) == ["column_unknown", "column_unnamed"]
    assert sheets.problems["value"].to_list() == ["weather", None]
    assert json.loads(sheets.problems["details"][1]) == {"row": "3"}


def test_ragged_rows_are_held_and_the_rest_stand() -> None:
    lines = sheet({"notes": "x"}, {}, {}, {}).split("\r\n")
    lines[2] = ",".join(lines[2].split(",")[:9])
    lines[3] = lines[3].removesuffix(",")
    lines[4] = lines[4] + ",,3,5 min"
    sheets = read("\r\n".join(lines))
    told = sheets.problems.select("sheet_row", "value", "rule").rows()
    assert told == [(3, None, "row_too_short"), (5, "3, 5 min", "row_too_long")]
    assert values(sheets, "drain_time_s") == [205.0, None, 205.0, None]
    assert sheets.cells["member"].to_list() == ["fen-07"] * 4


def test_misplaced_cells_of_ragged_rows_settle_nothing() -> None:
    lines = sheet({"pot_volume": "1.500 l", "notes": ""}).split("\r\n")
    sheets = read("\r\n".join([*lines[:2], lines[1].replace("1.500 l", "0.5 l") + ",surplus"]))
    assert rules(sheets, row=2) == ["decimal_mark_open"]


@pytest.mark.parametrize(
    ("other", "read_as", "rule"),
    [
        ("0.5 l", 1.234, None),
        ("0,5 l", 1234.0, None),
        ("5 l", None, "decimal_mark_open"),
        ("1.000,5 ml", 1234.0, None),
    ],
)
def test_the_decimal_mark_is_settled_by_the_whole_file(
    other: str, read_as: float | None, rule: str | None
) -> None:
    sheets = read(sheet({"poured": "1.234 ml"}, {"poured": other}))
    assert values(sheets, "poured_ml")[0] == read_as
    assert rules(sheets, row=2) == ([rule] if rule else [])


def test_another_column_settles_the_decimal_mark_too_but_another_file_does_not() -> None:
    open_one = sheet({"poured": "1.234 ml"})
    settled = sheet({"poured": "1.234 ml", "water_temp": "18,5 °C"})
    sheets = read(open_one, settled)
    assert values(sheets, "poured_ml") == [None, 1234.0]
    assert sheets.files["decimal_mark"].to_list() == ["", ","]


def test_marks_of_both_kinds_are_read_by_their_form_and_said_once() -> None:
    sheets = read(sheet({"poured": "0.3 l"}, {"poured": "0,3 l"}, {"poured": "1.234 ml"}))
    assert values(sheets, "poured_ml") == [300.0, 300.0, None]
    assert rules(sheets) == ["decimal_marks_mixed", "decimal_mark_open"]


def test_slashed_dates() -> None:
    sheets = read(sheet({"tested_on": "3/4/2026"}, {"tested_on": "14/3/2026"}))
    assert values(sheets, "tested_on") == [date(2026, 4, 3), date(2026, 3, 14)]
    (told,) = sheets.problems.rows(named=True)
    assert (told["rule"], told["sheet_row"], told["column"]) == ("slashed_dates_read", None, "tested_on")
    assert json.loads(told["details"]) == {"order": "day/month/year", "settled_by": "“14/3/2026”"}
    both = read(sheet({"tested_on": "3/14/2026"}, {"tested_on": "14/3/2026"}, {"tested_on": "2026-03-14"}))
    assert rules(both) == ["date_orders_clash"] * 2 and values(both, "tested_on")[2] == date(2026, 3, 14)


def test_kitchen_units_are_said_once_per_file() -> None:
    sheets = read(
        sheet({"poured": "1 cup", "collected": "4 fl oz"}, {"poured": "2 cups"}),
        sheet({"poured": "1 metric cup"}),
    )
    told = sheets.problems.rows(named=True)
    assert [(one["file_id"], one["sheet_row"], one["rule"]) for one in told] == [
        (0, None, "kitchen_units_us")
    ]
    assert json.loads(told[0]["details"]) == {
        "units": "1 cup = 236.6 ml, 1 fl oz = 29.57 ml (imperial 28.41 ml)"
    }


def test_kitchen_units_of_the_heading_are_said_too() -> None:
    assert rules(read(sheet({}).replace("poured", "poured_cups").replace("300 ml", "1"))) == [
        "kitchen_units_us"
    ]


def test_a_time_that_a_spreadsheet_changed_is_held_by_itself_in_any_sheet() -> None:
    times = ("3:25:00", "0:04:10", "5:10:01", "205 s", "3:30", "1:00:00")
    sheets = read(sheet(*({"drain_time": time, "pot_no": str(at)} for at, time in enumerate(times, 1))))
    held = sheets.problems.filter(pl.col("rule") == "time_from_spreadsheet")
    assert held.select("sheet_row", "value").rows() == [(2, "3:25:00"), (7, "1:00:00")]
    assert json.loads(held["details"][0]) == {"offer": "3 min 25 s", "literal": "3 h 25 min"}
    assert values(sheets, "drain_time_s") == [None, 250.0, 18601.0, 205.0, 210.0, None]


def test_share_from_parts_and_from_two_columns() -> None:
    sheets = read(
        sheet(
            {"component_share": "", "parts": "2:1"},
            {"component_share": "33", "parts": "2:1"},
            {"component_share": "34", "parts": "2:1"},
        )
    )
    assert values(sheets, "component_share")[:2] == [33.3, 33.0]
    assert sheets.problems.select("sheet_row", "column", "value", "rule").rows() == [
        (4, "parts", "2:1", "shares_differ")
    ]
    sheets = read(
        sheet(
            {"component_share": None, "base_parts": "3", "component_parts": "2"},  # type: ignore[dict-item]
            {"base_parts": "3"},
            {"base_parts": "0", "component_parts": "0"},
            {},
            {"base_parts": "1", "component_parts": "0,0"},
        )
    )
    assert values(sheets, "component_share") == [40.0, None, None, None, 0.0]
    assert sheets.problems.select("sheet_row", "rule").rows() == [
        (3, "parts_half_given"),
        (4, "parts_of_nothing"),
        (5, "share_missing"),
    ]


def test_half_a_point_is_still_agreement() -> None:
    sheets = read(
        sheet({"component_share": "25.5", "parts": "3:1"}, {"component_share": "25.51", "parts": "3:1"})
    )
    assert rules(sheets) == ["shares_differ"] and rules(sheets, row=3) == ["shares_differ"]


LENGTHS = {"pot_top_diameter": "13 cm", "pot_base_diameter": "100 mm", "fill_depth": "10 cm"}


def test_a_blank_pot_volume_is_computed_from_the_lengths_and_said_so() -> None:
    sheets = read(sheet({"pot_volume": "", **LENGTHS}, {"pot_volume": "1 l", **LENGTHS}, {"pot_volume": ""}))
    assert values(sheets, "pot_volume_ml") == [pytest.approx(1044.58, abs=0.01), 1000.0, None]
    assert values(sheets, "pot_volume_computed") == [True, False, False]
    assert sheets.problems.select("sheet_row", "column", "value", "rule").rows() == [
        (2, "pot_volume", "", "pot_volume_computed"),
        (4, "pot_volume", "", "pot_volume_blank"),
    ]


def test_a_computed_volume_is_said_once_per_series_and_volume() -> None:
    blank = {"pot_volume": "", **LENGTHS}
    deeper = {**blank, "fill_depth": "11 cm"}
    sheets = read(
        sheet(blank, blank, {**blank, "series": "B"}, deeper, {**blank, "series": "Bench a"}), sheet(blank)
    )
    assert values(sheets, "pot_volume_computed") == [True] * 6
    told = sheets.problems.select("file_id", "sheet_row", pl.col("details").str.json_path_match("$.rows"))
    assert told.rows() == [
        (0, 2, "this row and 2 other rows of its series"),
        (0, 4, "this row"),
        (0, 5, "this row"),
        (1, 2, "this row"),
    ]


def test_a_length_that_cannot_be_read_is_the_only_thing_said() -> None:
    assert rules(read(sheet({"pot_volume": "", **LENGTHS, "fill_depth": "10"}))) == ["unit_missing"]


def test_computed_volumes_have_the_same_limits() -> None:
    small = {"pot_volume": "", "pot_top_diameter": "2 cm", "pot_base_diameter": "2 cm", "fill_depth": "2 cm"}
    unusual = {
        "pot_volume": "",
        "pot_top_diameter": "4 cm",
        "pot_base_diameter": "3 cm",
        "fill_depth": "4 cm",
    }
    sheets = read(sheet(small, unusual))
    assert rules(sheets, row=2) == ["pot_volume_outside"] and values(sheets, "pot_volume_ml")[0] is None
    assert sorted(rules(sheets, row=3)) == ["pot_volume_computed", "pot_volume_unusual"]


def test_windows_letters_are_said_once() -> None:
    assert rules(read(sheet({"notes": "Hügel"}).encode("cp1252"))) == ["letters_guessed"]


def test_a_failing_reader_becomes_a_finding(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> None:
        raise RuntimeError

    monkeypatch.setattr("pipeline.intake.cells.words.match_choice", fails)
    assert set(rules(read(sheet({})))) == {"cell_not_read"}
    monkeypatch.setattr("pipeline.intake.files.opening.find_table", fails)
    assert rules(read(sheet({}))) == ["file_not_read"]


def test_a_file_that_is_too_large(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pipeline.intake.files.opening.LARGEST_FILE_BYTES", 100)
    assert rules(read(sheet({}))) == ["file_too_large"]


def test_a_very_long_cell_is_held_not_read() -> None:
    sheets = read(sheet({"drain_time": "3" * 5000, "poured": "1" + " " * 300 + "ml"}))
    assert sheets.problems["column"].to_list() == ["poured", "drain_time"]
    assert len(sheets.problems["value"][1]) == 5000


def test_names_that_differ_only_in_spaces_and_case_share_a_key() -> None:
    sheets = read(sheet({"series": "Bench   A"}, {"series": "bench a", "member": "FEN-07"}))
    assert values(sheets, "series") == ["Bench   A", "bench a"]
    assert len(set(values(sheets, "series_key"))) == len(set(values(sheets, "member_key"))) == 1


def test_received_files_are_values() -> None:
    assert ReceivedFile("a", b"") == ReceivedFile("a", b"")

"""Every rule on reading and cells can be met, and its sentence can be filled from what intake tells."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from pipeline.intake.steps import Sheets
from schemas.kinds.run import RUN
from schemas.rules import cells, reading, rule
from tests.unit.intake.files.test_workbook import workbook, zipped
from tests.unit.intake.writing import PLAIN, read, sheet

LENGTHS = {"pot_volume": "", "pot_top_diameter": "13 cm", "pot_base_diameter": "10 cm", "fill_depth": "10 cm"}
LINES = sheet({}).split("\r\n")

HEADING, ROW = LINES[:2]
SWALLOWED = f'{HEADING},notes\n{ROW},"good\n{ROW},x\n{ROW},fine"\n'

SPLIT: list[dict[str, Any]] = [
    {"drain_time": None, "drain_time_s": "310", "water_temp_c": "18", "taps": "2"},
    {"drain_time": None, "drain_time_s": "205", "water_temp_c": "5", "taps": "18"},
]
MET: dict[str, str | bytes] = {
    "file_empty": b"",
    "not_text": b"%PDF-1.7",
    "nul_found": b"a\0b",
    "web_page": b"<!doctype html>",
    "old_workbook": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1",
    "other_archive": zipped(mimetype=b"x"),
    "workbook_damaged": b"PK\x03\x04",
    "quote_open": sheet({}) + '"open',
    "no_heading": b"hello",
    "no_rows": LINES[0],
    "column_missing": sheet({"member": None}),  # type: ignore[dict-item]
    "column_twice": sheet({"drain time (min)": "3"}),
    "row_too_short": "\r\n".join([LINES[0], LINES[1].rsplit(",", 3)[0]]),
    "row_too_long": "\r\n".join([LINES[0], LINES[1] + ",x"]),
    "comma_splits_number": sheet(*SPLIT),
    "row_above_heading": f"{ROW}\n{HEADING}\n{ROW}\n",
    "second_heading": f"{HEADING}\n{ROW}\n{HEADING}\n{ROW}\n",
    "quote_swallows": SWALLOWED,
    "total_left_out": f"{HEADING}\n{ROW}\nMean,,,\n",
    "label_counts_up": sheet(*({"series": f"Kitchen {at}"} for at in (1, 2, 3))),
    "thousands_possible": sheet({"poured": "40.000 ml", "collected": "20.5 ml"}),
    "minutes_like_seconds": sheet({"drain_time": "3.25 min"}, {"drain_time": "2.15 min"}),
    "column_unknown": sheet({"weather": "rain"}),
    "headings_understood": sheet({}).replace("drain_time", "Ablaufzeit"),
    "column_unnamed": sheet({"": "x"}),
    "letters_guessed": sheet({"notes": "Hügel"}).encode("cp1252"),
    "decimal_marks_mixed": sheet({"poured": "0.3 l", "collected": "0,15 l"}),
    "kitchen_units_us": sheet({"poured": "1 cup"}),
    "slashed_dates_read": sheet({"tested_on": "14/3/2026"}),
    "heading_not_used": sheet({}).replace("component_share", "component_share (% by weight)"),
    "cell_too_long": sheet({"drain_time": "205 s" + " " * 200 + "(no: 20 min)"}),
    "blank_cell": sheet({"member": ""}),
    "code_form": sheet({"member": "fen 07"}),
    "code_mixes_alphabets": sheet({"member": "f\u0435n-07"}),
    "code_letters_guessed": sheet({"member": "břeh-07"}).encode("cp1250"),
    "label_garbled": sheet({"series": "FrÃ¼hling"}),
    "invisible_inside": sheet({"drain_time": "3\xad4 min"}),
    "series_length": sheet({"series": "s" * 65}),
    "notes_length": sheet({"notes": "n" * 501}),
    "word_unknown": sheet({"setup_type": "bucket"}),
    "climate_unknown_class": sheet({"climate_zone": "mild"}),
    "climate_other_scheme": sheet({"climate_zone": "as"}),
    "climate_not_given": sheet({"climate_zone": "unknown"}),
    "date_form": sheet({"tested_on": "today"}),
    "date_order_open": sheet({"tested_on": "3/4/2026"}),
    "date_orders_clash": sheet({"tested_on": "3/14/2026"}, {"tested_on": "14/3/2026"}),
    "date_too_early": sheet({"tested_on": "1979-12-31"}),
    "number_form": sheet(
        {"poured": "lots"}, {"drain_time": "soon"}, {"fill_depth": "?"}, {"component_share": "half"}
    ),
    "fraction_not_read": sheet({"fill_depth": "3/4 cm"}, {"component_share": "1/2"}),
    "number_is_date": sheet(
        {"poured": "1-Feb"}, {"component_share": "3-Jan"}, {"base_parts": "1-Feb", "component_parts": "1"}
    ),
    "decimal_mark_open": sheet(
        {"poured": "1.234 ml"}, {"pot_no": "1.000"}, {"parts": "1.234:1"}, {"water_temp": "1.234 C"}
    ),
    "unit_missing": sheet({"poured": "300"}, {"fill_depth": "3"}, {"mix_age": "3"}, {"water_temp": "18"}),
    "unit_unknown": sheet({"poured": "300 kg"}),
    "unit_ambiguous": sheet({"poured": "10 oz"}),
    "unit_clash": sheet({}).replace("poured", "poured_l"),
    "not_above_zero": sheet({"poured": "0 ml"}, {"drain_time": "0:00"}, {"fill_depth": "0 cm"}),
    "whole_number": sheet({"pot_no": "1.5"}),
    "length_outside": sheet({"fill_depth": "10 m"}),
    "temperature_outside": sheet({"water_temp": "64 °C"}, {"water_temp": "-1 °C"}),
    "time_unit_missing": sheet({"drain_time": "205"}),
    "time_with_point": sheet({"drain_time": "1.30"}),
    "time_fields": sheet({"drain_time": "3:75"}),
    "time_from_spreadsheet": sheet({"drain_time": "3:25:00"}),
    "time_under_hours": sheet({}).replace("drain_time", "drain_time (hh:mm)"),
    "time_of_day": sheet({"drain_time": "3:25:00 AM"}),
    "pot_label": sheet({"pot_volume": "#1"}),
    "pot_volume_blank": sheet({"pot_volume": ""}),
    "pot_volume_outside": sheet({"pot_volume": "0.01 l"}, {**LENGTHS, "fill_depth": "0.1 mm"}),
    "pot_volume_unusual": sheet({"pot_volume": "0.04 l"}, {**LENGTHS, "fill_depth": "3 mm"}),
    "pot_volume_computed": sheet(LENGTHS),
    "share_missing": sheet({"component_share": ""}),
    "share_is_parts": sheet({"component_share": "1:1"}),
    "share_is_fraction": sheet({"component_share": "0.4"}),
    "share_outside": sheet({"component_share": "101"}),
    "shares_differ": sheet({"parts": "3:1"}),
    "parts_form": sheet({"parts": "three"}),
    "parts_slashed": sheet({"parts": "1/3"}),
    "parts_from_time": sheet({"parts": "3:01"}),
    "parts_from_date": sheet({"parts": "3-Jan"}),
    "parts_three": sheet({"parts": "2:1:1"}),
    "parts_of_nothing": sheet({"parts": "0:0"}, {"base_parts": "0", "component_parts": "0"}),
    "parts_half_given": sheet({"base_parts": "1"}, {"component_parts": "1"}),
}
ELSEWHERE = {
    "file_too_large": "test_steps.py, with a smaller limit",
    "too_many_rows": "test_table.py, with a smaller limit",
    "workbook_too_large": "test_workbook.py, with a smaller limit",
    "workbook_sparse": "test_workbook.py",
    "sheets_passed_over": "test_workbook.py",
    "rows_hidden": "test_workbook.py",
    "cells_merged": "test_workbook.py",
    "formula_without_result": "test_workbook.py",
    "not_opened": "tests/story/test_commands_check.py: a file that is not there",
    "beside_the_pool": "tests/story/test_commands_load.py: a mended sheet",
    "file_not_read": "test_steps.py",
    "own_heading_missing": "tests/story/test_own_headings.py",
    "cell_not_read": "test_steps.py",
}


def messages(sheets: Sheets) -> list[tuple[str, str, str]]:
    """Every finding worded as the receipt will word it."""
    return [
        (
            one["rule"],
            *rule(one["rule"]).worded(
                one["column"], one["value"], {**RUN.words, **json.loads(one["details"])}
            ),
        )
        for one in sheets.problems.rows(named=True)
    ]


def test_no_rule_is_forgotten() -> None:
    ours = {one.id for one in (*reading.RULES, *cells.RULES)}
    assert ours == set(MET) | set(ELSEWHERE) and not set(MET) & set(ELSEWHERE)


@pytest.mark.parametrize("rule_id", sorted(MET))
def test_a_rule_is_met_and_worded(rule_id: str) -> None:
    said = [(message, fix) for found, message, fix in messages(read(MET[rule_id])) if found == rule_id]
    assert said
    for message, fix in said:
        assert not re.search(r"[{}]|\bNone\b|  ", message + fix), message + fix
        assert message[0].isupper() or message.startswith(("drainpool", *map(str, PLAIN), *LOWER_COLUMNS))


LOWER_COLUMNS = ("parts", "base_parts", "component_parts", "fill_depth", "mix_age", "water_temp", "notes")


@pytest.mark.parametrize("content", list(MET.values()), ids=list(MET))
def test_scope_and_level_fit_the_finding(content: str | bytes) -> None:
    sheets = read(content)
    readable = sheets.files["readable"].item()
    for one in sheets.problems.rows(named=True):
        told = rule(one["rule"])
        assert (one["sheet_row"] is None) == (told.scope == "file"), one["rule"]
        assert readable != (told in reading.UNREADABLE)
    assert sheets.files["rows"].item() == sheets.cells.height == sheets.typed.height


def test_a_workbook_says_the_same_as_a_text() -> None:
    assert [one[0] for one in messages(read(workbook({"poured": "10 oz", "parts": "3-Jan"})))] == [
        "parts_from_date",
        "unit_ambiguous",
    ]

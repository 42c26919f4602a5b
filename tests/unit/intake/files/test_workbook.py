"""Workbooks: cells as members typed them, and files that are no workbook, damaged or too large."""

from __future__ import annotations

import io
import json
import re
import zipfile
from collections.abc import Callable
from datetime import date, time
from typing import Any

import polars as pl
import pytest
import xlsxwriter

from pipeline.intake.files.workbook import read_workbook
from pipeline.intake.received import UnreadableError
from schemas.kinds.run import RUN
from tests.unit.intake.writing import PLAIN, read, rules, values

Fill = Callable[[xlsxwriter.Workbook, Any, list[str]], None]


def workbook(
    *rows: dict[str, Any],
    formats: dict[str, str] | None = None,
    top: int = 0,
    left: int = 0,
    from_1904: bool = False,
) -> bytes:
    """A workbook with a run sheet at `top`, `left`; dates and times as cells, formats by column."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"date_1904": from_1904})
    page = book.add_worksheet("runs")
    styles = {name: book.add_format({"num_format": shown}) for name, shown in (formats or {}).items()}
    day = book.add_format({"num_format": "yyyy-mm-dd"})
    clock = book.add_format({"num_format": "h:mm:ss"})
    names = list(dict.fromkeys([*PLAIN, *(name for row in rows for name in row)]))
    for at, name in enumerate(names):
        page.write_string(top, left + at, name)
    for down, row in enumerate(rows, top + 1):
        for at, name in enumerate(names):
            value = {**PLAIN, **row}.get(name, "")
            style = styles.get(name) or (
                day if isinstance(value, date) else clock if isinstance(value, time) else None
            )
            if isinstance(value, date | time):
                page.write_datetime(down, left + at, value, style)
            elif value != "":
                page.write(down, left + at, value, style)
    book.close()
    return out.getvalue()


def test_a_workbook_is_a_sheet_whatever_its_name() -> None:
    sheets = read(workbook({}, {"pot_no": 2}))
    assert rules(sheets) == [] and values(sheets, "pot_no") == [1, 2]
    assert sheets.cells["sheet_row"].to_list() == [2, 3]


def test_date_time_percent_and_number_cells() -> None:
    sheets = read(
        workbook(
            {
                "tested_on": date(2026, 3, 14),
                "drain_time": time(0, 3, 25),
                "component_share": 0.25,
                "pot_no": 1,
                "taps": 5.0,
            },
            {"tested_on": date(2026, 3, 15), "drain_time": time(1, 15, 1), "component_share": 0, "pot_no": 2},
            {"drain_time": time(0, 3, 25, 500000), "component_share": 1, "pot_no": 3},
            {"drain_time": (75 * 3600 + 1) / 86400, "component_share": 0.125, "pot_no": 4},
            formats={"component_share": "0%", "drain_time": "[h]:mm:ss"},
        )
    )
    assert rules(sheets) == []
    assert sheets.cells["tested_on"].to_list()[:2] == ["2026-03-14", "2026-03-15"]
    assert sheets.cells["drain_time"].to_list() == ["0:03:25", "1:15:01", "0:03:25.5", "75:00:01"]
    assert values(sheets, "drain_time_s") == [205.0, 4501.0, 205.5, 270001.0]
    assert sheets.cells["component_share"].to_list() == ["25 %", "0 %", "100 %", "12.5 %"]
    assert values(sheets, "component_share") == [25.0, 0.0, 100.0, 12.5]


def test_a_time_cell_counts_as_three_fields() -> None:
    sheets = read(workbook(*({"pot_no": at, "drain_time": time(3, 25 + at)} for at in range(1, 4))))
    assert rules(sheets) == ["time_from_spreadsheet"] * 3


def test_parts_that_became_times_and_dates() -> None:
    sheets = read(
        workbook(
            {"component_share": "", "parts": time(3, 1)}, {"component_share": "", "parts": date(2026, 1, 3)}
        )
    )
    assert rules(sheets) == ["parts_from_time", "parts_from_date"]
    assert sheets.cells["parts"].to_list() == ["3:01:00", "2026-01-03"]


def test_a_number_cell_has_a_point_whatever_the_member_types() -> None:
    """1.234 as a number cell is one and a bit, beside text cells with a decimal comma; 1.234 as text is not."""
    rows: list[dict[str, Any]] = [
        {"poured": 1.234, "collected": "0,5 l"},
        {"poured": "1.234", "collected": "0,5 l"},
        {"poured": 2.5, "collected": "1 l"},
    ]
    content = workbook(*rows)
    sheets = read(content)
    assert sheets.cells["poured"].to_list() == ["1.2340", "1.234", "2.5"]
    assert "decimal_marks_mixed" not in rules(sheets) and sheets.files["decimal_mark"].item() == ","


def test_an_error_cell_is_shown_as_it_stands_never_as_blank() -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    page = book.add_worksheet("runs")
    names = [*PLAIN, "water_temp_c"]
    page.write_row(1, 1, names)
    for down, value in ((2, "#DIV/0!"), (3, "#N/A")):
        page.write_row(down, 1, [*PLAIN.values()])
        page.write_formula(down, 1 + names.index("drain_time"), "=1/0", None, value)
        page.write_formula(down, 1 + names.index("water_temp_c"), "=1/0", None, value)
    book.close()
    sheets = read(out.getvalue())
    assert sheets.cells["drain_time"].to_list() == ["#DIV/0!", "#N/A"]
    assert rules(sheets, row=3) == ["number_form", "number_form"]


def test_rows_and_columns_keep_their_place_in_the_sheet() -> None:
    content = workbook(
        {"component_share": 0.25},
        {"component_share": 0.4, "drain_time": "205"},
        formats={"component_share": "0.0%"},
        top=3,
        left=2,
    )
    sheets = read(content)
    assert sheets.cells["sheet_row"].to_list() == [5, 6] and rules(sheets, row=6) == ["time_unit_missing"]
    assert values(sheets, "component_share") == [25.0, 40.0]


def test_the_first_sheet_with_columns_is_read() -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    book.add_worksheet("read me").write(0, 0, "How to fill in")
    book.add_worksheet("empty")
    page = book.add_worksheet("runs")
    page.write_row(0, 0, list(PLAIN))
    page.write_row(2, 0, list(PLAIN.values()))
    book.close()
    sheets = read(out.getvalue())
    assert rules(sheets) == [] and sheets.cells["sheet_row"].to_list() == [3]


def test_a_scribble_beside_the_sheet_is_advice() -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    page = book.add_worksheet()
    page.write_row(0, 0, list(PLAIN))
    page.write_row(1, 0, [*PLAIN.values(), "", "", "ask Ann"])
    book.close()
    assert rules(read(out.getvalue())) == ["column_unnamed"]


def zipped(**parts: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name.replace("__", "/"), content)
    return out.getvalue()


def refused(content: bytes) -> str:
    with pytest.raises(UnreadableError) as error:
        read_workbook(content, RUN)
    return error.value.finding.rule


def test_what_is_no_workbook() -> None:
    assert refused(b"PK\x03\x04 not really a workbook") == "workbook_damaged"
    assert refused(workbook({})[:-200]) == "workbook_damaged"
    assert refused(zipped(mimetype=b"application/vnd.oasis.opendocument.spreadsheet")) == "other_archive"
    assert refused(zipped(**{"xl__workbook.xml": b"<nothing/>"})) == "workbook_damaged"


def test_damage_inside_is_found() -> None:
    content = bytearray(workbook(*({"pot_no": at} for at in range(1, 40))))
    at = content.find(b"xl/worksheets/sheet1.xml") + 60
    content[at : at + 20] = b"\0" * 20
    assert refused(bytes(content)) == "workbook_damaged"


def test_unpacked_size_is_looked_at_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pipeline.intake.files.workbook.MOST_UNPACKED_BYTES", 10_000_000)
    bomb = zipped(**{"xl__workbook.xml": b"<x/>", "xl__media.bin": b"\0" * 20_000_000})
    assert len(bomb) < 100_000 and refused(bomb) == "workbook_too_large"


def test_a_cell_at_the_end_of_the_world_is_refused() -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    page = book.add_worksheet()
    page.write_row(0, 0, list(PLAIN))
    page.write(1_048_575, 16_383, "x")
    book.close()
    assert refused(out.getvalue()) == "workbook_sparse"


def test_a_workbook_without_a_run_sheet() -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    book.add_worksheet().write(0, 0, "shopping")
    book.close()
    assert refused(out.getvalue()) == "no_heading"


def test_text_and_workbooks_in_one_batch() -> None:
    heading = ",".join(PLAIN)
    text = f"{heading}\n{','.join(PLAIN.values())}\n"
    sheets = read(text, workbook({}), text)
    assert sheets.typed.drop("file_id", "sheet_row").unique().height == 1
    assert sheets.typed.filter(pl.col("file_id") == 1).height == 1


def several_sheets(*pages: list[list[str]]) -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    for number, lines in enumerate(pages, 1):
        page = book.add_worksheet(f"page {number}")
        for down, line in enumerate(lines):
            page.write_row(down, 0, line)
    book.close()
    return out.getvalue()


def test_a_second_run_sheet_in_a_workbook_is_told_not_lost_in_silence() -> None:
    filled = [list(PLAIN), list(PLAIN.values())]
    sheets = read(several_sheets([["About"]], filled, filled, [["title"], *filled]))
    assert sheets.files["rows"].to_list() == [1]
    assert rules(sheets) == ["sheets_passed_over"]
    assert "“page 3”, “page 4”" in json.loads(sheets.problems["details"][0])["names"]


def test_lists_notes_and_blank_forms_beside_the_run_sheet_are_nothing_to_tell() -> None:
    filled = [list(PLAIN), list(PLAIN.values())]
    choices = [["setup_type", "component", "ended"], ["rack", "perlite", "reached"]]
    assert rules(read(several_sheets(filled, choices, [list(PLAIN)], [["x", "y"]], []))) == []


SHOWN = [
    (time(0, 3, 25), "m:ss", "3:25", 205.0),
    (time(0, 4, 0), "mm:ss", "4:00", 240.0),
    (time(0, 3, 25, 500000), "mm:ss.0", "3:25.5", 205.5),
    (75 / 24 / 60, "[m]:ss", "75:00", 4500.0),
    (75 / 24 / 60, "[mm]:ss;@", "75:00", 4500.0),
    (time(0, 3, 25), "h:mm:ss", "0:03:25", 205.0),
    (time(1, 5, 10), "[h]:mm:ss", "1:05:10", 3910.0),
    (time(3, 25), "h:mm", "3:25:00", None),
    (time(3, 25), "[h]:mm", "3:25:00", None),
    (time(0, 3, 25), "h:mm", "0:03:00", None),
    (time(3, 25), "h:mm:ss", "3:25:00", None),
    (time(3, 25), "mm:ss", "3:25:00", None),
    (time(3, 25), "h:mm AM/PM", "3:25:00 AM", None),
    (time(15, 25), 'h:mm:ss "Uhr" AM/PM', "3:25:00 PM", None),
]


@pytest.mark.parametrize("from_1904", [False, True])
@pytest.mark.parametrize(
    ("cell", "shown", "typed", "seconds"), SHOWN, ids=[f"{one[1]}={one[2]}" for one in SHOWN]
)
def test_a_time_cell_is_read_by_its_number_format(
    cell: time | float, shown: str, typed: str, seconds: float | None, from_1904: bool
) -> None:
    content = workbook({"drain_time": cell}, formats={"drain_time": shown}, from_1904=from_1904)
    sheets = read(content)
    assert sheets.cells["drain_time"].to_list() == [typed]
    assert values(sheets, "drain_time_s") == [seconds]
    rule = "time_of_day" if typed.endswith("M") else "time_from_spreadsheet"
    assert rules(sheets) == ([] if seconds else [rule])


def rewritten(content: bytes, change: Callable[[str], str]) -> bytes:
    """A workbook whose parts are written as another program might."""
    with zipfile.ZipFile(io.BytesIO(content)) as whole:
        parts = {name: whole.read(name).decode() for name in whole.namelist()}
    return zipped(**{name: change(text).encode() for name, text in parts.items()})


@pytest.mark.parametrize(
    "change",
    [
        lambda text: re.sub(r'(<c) r="[A-Z]+[0-9]+"', r"\1", text),
        lambda text: re.sub(r'(\s\w+)="([^"]*)"', r"\1='\2'", text) if "<c " in text else text,
        lambda text: re.sub(r"(<c [^>]*[^/]>)", r"\1\n", text),
    ],
    ids=["no references", "single quotation marks", "line breaks in cells"],
)
def test_percent_cells_are_known_however_the_file_is_written(change: Callable[[str], str]) -> None:
    content = workbook({"component_share": 0.25}, formats={"component_share": "0%"})
    assert values(read(rewritten(content, change)), "component_share") == [25.0]


@pytest.mark.parametrize("shown", ['0"%"', "0\\%", '0" % perlite"'])
def test_a_percent_sign_that_is_only_text_multiplies_nothing(shown: str) -> None:
    content = workbook({"component_share": 25}, formats={"component_share": shown})
    assert values(read(content), "component_share") == [25.0]


@pytest.mark.parametrize("left_out", ["", "<v></v>", "<v/>"])
@pytest.mark.parametrize("name", ["base", "ended"])
def test_a_formula_without_its_result_is_held_never_blank(name: str, left_out: str) -> None:
    content = with_formula(workbook({name: "coir"}, {}), f"<f>A1&amp;A2</f>{left_out}")
    found = read(content).problems.select("sheet_row", "column", "value", "rule").rows()
    assert found == [(2, name, "=A1&A2", "formula_without_result")]


def test_a_formula_whose_result_is_an_empty_text_is_blank() -> None:
    sheets = read(with_formula(workbook({"base": "coir"}), '<f>""</f><v></v>', 't="str"'))
    assert rules(sheets) == [] and values(sheets, "base") == ["sphagnum_peat"]


def with_formula(content: bytes, inside: str, kind: str = "") -> bytes:
    """The workbook with another inside in row 2 of the first column behind the plain ones."""
    place = chr(ord("A") + len(PLAIN)) + "2"
    return rewritten(
        content, lambda text: re.sub(rf'<c r="{place}".*?</c>', f'<c r="{place}" {kind}>{inside}</c>', text)
    )


def pages(*sheets: tuple[str, bool, list[dict[str, Any]]]) -> bytes:
    """A workbook of several pages: name, whether it is hidden, rows by heading."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    for name, hidden, rows in sheets:
        page = book.add_worksheet(name)
        if hidden:
            page.hide()
        for at, heading in enumerate(rows[0]):
            page.write(0, at, heading)
            for down, row in enumerate(rows, 1):
                page.write(down, at, row[heading])
    book.worksheets()[-1].activate()
    book.worksheets()[-1].set_first_sheet()
    book.close()
    return out.getvalue()


def test_a_cover_page_that_names_two_columns_is_not_the_sheet() -> None:
    sheets = read(pages(("cover", False, [{"Member": "fen-07", "Club": "Bogs"}]), ("runs", False, [PLAIN])))
    assert rules(sheets) == [] and values(sheets, "series") == ["bench A"]


def test_a_hidden_page_is_not_read_for_the_visible_one() -> None:
    old, new = {**PLAIN, "series": "old"}, {**PLAIN, "series": "new"}
    sheets = read(pages(("last year", True, [old]), ("runs", False, [new])))
    assert values(sheets, "series") == ["new"]
    assert rules(sheets) == ["sheets_passed_over"]


def test_rows_above_the_heading_of_a_workbook_are_held() -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    page = book.add_worksheet()
    for down, cells in enumerate((PLAIN.values(), PLAIN, {**PLAIN, "pot_no": "2"}.values())):
        page.write_row(down, 0, list(cells))
    book.close()
    sheets = read(out.getvalue())
    assert rules(sheets, 1) == ["row_above_heading"] and sheets.files["rows"].item() == 2


def test_merged_cells_below_the_heading_are_named() -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    page = book.add_worksheet()
    for down, cells in enumerate((PLAIN, PLAIN.values(), {**PLAIN, "pot_no": "2"}.values())):
        page.write_row(down, 0, list(cells))
    page.merge_range(1, 2, 2, 2, PLAIN["tested_on"])
    book.close()
    sheets = read(out.getvalue())
    assert ("cells_merged", '{"cells": "C2:C3"}') in sheets.problems.select("rule", "details").rows()


def test_hidden_rows_are_read_and_asked_about() -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    page = book.add_worksheet()
    for down, cells in enumerate((PLAIN, PLAIN.values(), {**PLAIN, "pot_no": "2"}.values())):
        page.write_row(down, 0, list(cells))
    page.set_row(2, None, None, {"hidden": True})
    page.set_row(9, None, None, {"hidden": True})
    book.close()
    sheets = read(out.getvalue())
    assert sheets.problems.select("rule", "details").rows() == [("rows_hidden", '{"rows": "Row 3 is"}')]
    assert values(sheets, "pot_no") == [1, 2]

"""The small spreadsheet writer: the same cells give the same bytes, and a spreadsheet reader reads them back."""

from __future__ import annotations

import io
import zipfile
from datetime import date, timedelta

import fastexcel

from contrib_samples.spellings import Cell
from contrib_samples.workbook import workbook_bytes

LINES: list[list[Cell]] = [
    ["member", "tested_on", "drain time", "poured (ml)", "notes"],
    ["oe-03", date(2026, 5, 11), timedelta(minutes=4, seconds=41), "660", ""],
    ["oe-03", date(2026, 2, 28), timedelta(minutes=61), "33.3", "peat < bark & grit"],
]


def test_the_same_cells_give_the_same_bytes() -> None:
    assert workbook_bytes(LINES) == workbook_bytes(LINES)
    assert workbook_bytes(LINES) != workbook_bytes(LINES[:2])


def test_nothing_in_the_file_is_compressed_or_dated_by_a_clock() -> None:
    with zipfile.ZipFile(io.BytesIO(workbook_bytes(LINES))) as archive:
        assert {entry.compress_type for entry in archive.infolist()} == {zipfile.ZIP_STORED}
        assert {entry.date_time for entry in archive.infolist()} == {(2026, 1, 1, 0, 0, 0)}


def test_a_spreadsheet_reader_reads_the_cells_back() -> None:
    sheet = fastexcel.read_excel(workbook_bytes(LINES)).load_sheet(0, header_row=None, dtypes="string")
    rows = sheet.to_polars().rows()
    assert rows[0] == ("member", "tested_on", "drain time", "poured (ml)", "notes")
    assert rows[1] == ("oe-03", "2026-05-11 00:00:00", "1899-12-31 00:04:41", "660", None)
    assert rows[2] == ("oe-03", "2026-02-28 00:00:00", "1899-12-31 01:01:00", "33.3", "peat < bark & grit")


def test_columns_past_the_alphabet_keep_their_order() -> None:
    line: list[Cell] = [f"column {number}" for number in range(30)]
    sheet = fastexcel.read_excel(workbook_bytes([line])).load_sheet(0, header_row=None, dtypes="string")
    assert list(sheet.to_polars().rows()[0]) == line

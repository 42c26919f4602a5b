"""The blank sheet is made from the column table, and its lists from the vocabularies."""

from __future__ import annotations

import io
import zipfile

from reports.blank_sheet import blank_sheet_csv, blank_sheet_xlsx
from schemas.kinds.run import RUN
from schemas.vocabulary import CHOICES


def test_csv_has_every_column_once() -> None:
    headings = blank_sheet_csv(RUN).strip().split(",")
    assert len(headings) == len(set(headings))
    assert {column.name for column in RUN.columns} - set(headings) == {"base_parts", "component_parts"}


def test_spreadsheet_offers_every_vocabulary_and_keeps_cells_as_text() -> None:
    with zipfile.ZipFile(io.BytesIO(blank_sheet_xlsx(RUN))) as book:
        sheet = book.read("xl/worksheets/sheet1.xml").decode()
        styles = book.read("xl/styles.xml").decode()
        words = book.read("xl/sharedStrings.xml").decode()
    used = {column.choices for column in RUN.columns if column.choices}
    assert sheet.count('type="list"') == sum(column.choices is not None for column in RUN.columns)
    assert used <= set(CHOICES)
    assert 'formatCode="@"' in styles  # kept as text
    assert "jug_rim" in words and "Cfb" in words


def test_spreadsheet_is_the_same_every_time() -> None:
    assert blank_sheet_xlsx(RUN) == blank_sheet_xlsx(RUN)

"""The blank sheet of a kind, made from its columns: as CSV, and as a spreadsheet with lists to choose from.

Every cell of the spreadsheet is set as text, so that 3:1 stays 3:1 and 1:05 stays one minute five.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from schemas.column import Column
from schemas.kinds.kind import SheetKind
from schemas.vocabulary import CHOICES

if TYPE_CHECKING:
    from xlsxwriter import Workbook
    from xlsxwriter.worksheet import Worksheet

ROWS_READY = 400
MADE = datetime(2026, 1, 1)


def sheet_columns(kind: SheetKind) -> tuple[Column, ...]:
    """The columns of the blank sheet: all but those that only restate another, such as the two of `parts`."""
    return tuple(column for column in kind.columns if column.blank_sheet)


Rows = Sequence[Mapping[str, str]]
"""Lines filled in already, by column."""


def blank_sheet_csv(kind: SheetKind, rows: Rows = ()) -> str:
    """One heading line; a test run is typed below it, one line per pour. A plan has its lines there already."""
    text = io.StringIO()
    names = [column.name for column in sheet_columns(kind)]
    writer = csv.DictWriter(text, names, restval="", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def blank_sheet_xlsx(kind: SheetKind, rows: Rows = ()) -> bytes:
    """A spreadsheet: the blank sheet with lists to choose from, what each column holds, and the choices."""
    import xlsxwriter

    held = io.BytesIO()
    book = xlsxwriter.Workbook(held, {"in_memory": True})
    book.set_properties({"title": kind.title.capitalize(), "created": MADE})
    sheet, guide, lists = (book.add_worksheet(name) for name in (kind.title, "columns", "choices"))
    _fill_sheet(book, sheet, kind, _fill_choices(book, lists, kind))
    _fill_rows(sheet, kind, rows)
    _fill_guide(book, guide, kind)
    book.close()
    return held.getvalue()


def _fill_sheet(book: Workbook, sheet: Worksheet, kind: SheetKind, ranges: dict[str, str]) -> None:
    text = book.add_format({"num_format": "@"})
    heading = book.add_format(
        {"num_format": "@", "bold": True, "bottom": 1, "text_wrap": True, "valign": "top"}
    )
    needed = book.add_format(
        {
            "num_format": "@",
            "bold": True,
            "bottom": 2,
            "text_wrap": True,
            "valign": "top",
            "bg_color": "#EDF1EC",
        }
    )
    for place, column in enumerate(sheet_columns(kind)):
        sheet.set_column(place, place, max(11, len(column.name) + 2), text)
        sheet.write_string(0, place, column.name, heading if column.required == "no" else needed)
        prompt = {"input_title": column.name[:32], "input_message": _prompt(column)}
        if column.choices in ranges:
            rule = {"validate": "list", "source": ranges[column.choices], "error_type": "warning", **prompt}
        else:
            rule = {"validate": "any", **prompt}
        sheet.data_validation(1, place, ROWS_READY, place, rule)
    sheet.freeze_panes(1, 2)


def _fill_rows(sheet: Worksheet, kind: SheetKind, rows: Rows) -> None:
    for line, row in enumerate(rows, 1):
        for place, column in enumerate(sheet_columns(kind)):
            if row.get(column.name):
                sheet.write_string(line, place, row[column.name])


def _prompt(column: Column) -> str:
    example = f" For example: {column.example}" if column.example else ""
    return f"{column.meaning}{example}"[:255]


def _fill_guide(book: Workbook, guide: Worksheet, kind: SheetKind) -> None:
    bold = book.add_format({"bold": True, "bottom": 1})
    wrap = book.add_format({"text_wrap": True, "valign": "top", "num_format": "@"})
    for place, (title, width) in enumerate(
        (("column", 22), ("needed", 14), ("what it holds", 80), ("example", 16))
    ):
        guide.set_column(place, place, width, wrap)
        guide.write_string(0, place, title, bold)
    for row, column in enumerate(sheet_columns(kind), 1):
        for place, words in enumerate((column.name, column.required, column.meaning, column.example)):
            guide.write_string(row, place, words, wrap)


def _fill_choices(book: Workbook, lists: Worksheet, kind: SheetKind) -> dict[str, str]:
    """Writes every vocabulary of the kind into its own column; answers the cell range of each."""
    from xlsxwriter.utility import xl_col_to_name

    bold = book.add_format({"bold": True, "bottom": 1})
    ranges = {}
    used = {column.choices for column in kind.columns}
    vocabularies = [(name, choices) for name, choices in CHOICES.items() if name in used]
    for place, (name, choices) in enumerate(vocabularies):
        lists.write_string(0, place, name, bold)
        lists.set_column(place, place, 18)
        for row, choice in enumerate(choices, 1):
            lists.write_string(row, place, choice.value)
        letters = xl_col_to_name(place)
        ranges[name] = f"=choices!${letters}$2:${letters}${len(choices) + 1}"
    return ranges

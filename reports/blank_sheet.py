"""The blank run sheet, made from the column table: as CSV, and as a spreadsheet with lists to choose from.

Every cell of the spreadsheet is set as text, so that 3:1 stays 3:1 and 1:05 stays one minute five.
"""

from __future__ import annotations

import io
from datetime import datetime
from typing import Any

from schemas.columns import SHEET_COLUMNS, SheetColumn
from schemas.vocabulary import CHOICES

ALTERNATIVES = ("base_parts", "component_parts")
ROWS_READY = 400
MADE = datetime(2026, 1, 1)


def sheet_columns() -> tuple[SheetColumn, ...]:
    """The columns of the blank sheet: all but the two that only restate `parts`."""
    return tuple(column for column in SHEET_COLUMNS if column.name not in ALTERNATIVES)


def blank_sheet_csv() -> str:
    """One heading line; a test run is typed below it, one line per pour."""
    return ",".join(column.name for column in sheet_columns()) + "\r\n"


def blank_sheet_xlsx() -> bytes:
    """A spreadsheet: the run sheet with lists to choose from, what each column holds, and the choices."""
    import xlsxwriter

    held = io.BytesIO()
    book = xlsxwriter.Workbook(held, {"in_memory": True})
    book.set_properties({"title": "Run sheet", "created": MADE})
    sheet, guide, lists = (book.add_worksheet(name) for name in ("run sheet", "columns", "choices"))
    _fill_run_sheet(book, sheet, _fill_choices(book, lists))
    _fill_guide(book, guide)
    book.close()
    return held.getvalue()


def _fill_run_sheet(book: Any, sheet: Any, ranges: dict[str, str]) -> None:
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
    for place, column in enumerate(sheet_columns()):
        sheet.set_column(place, place, max(11, len(column.name) + 2), text)
        sheet.write_string(0, place, column.name, heading if column.required == "no" else needed)
        prompt = {"input_title": column.name[:32], "input_message": _prompt(column)}
        if column.choices in ranges:
            rule = {"validate": "list", "source": ranges[column.choices], "error_type": "warning", **prompt}
        else:
            rule = {"validate": "any", **prompt}
        sheet.data_validation(1, place, ROWS_READY, place, rule)
    sheet.freeze_panes(1, 2)


def _prompt(column: SheetColumn) -> str:
    example = f" For example: {column.example}" if column.example else ""
    return f"{column.meaning}{example}"[:255]


def _fill_guide(book: Any, guide: Any) -> None:
    bold = book.add_format({"bold": True, "bottom": 1})
    wrap = book.add_format({"text_wrap": True, "valign": "top", "num_format": "@"})
    for place, (title, width) in enumerate(
        (("column", 22), ("needed", 14), ("what it holds", 80), ("example", 16))
    ):
        guide.set_column(place, place, width, wrap)
        guide.write_string(0, place, title, bold)
    for row, column in enumerate(sheet_columns(), 1):
        for place, words in enumerate((column.name, column.required, column.meaning, column.example)):
            guide.write_string(row, place, words, wrap)


def _fill_choices(book: Any, lists: Any) -> dict[str, str]:
    """Writes every vocabulary into its own column; answers the cell range of each."""
    from xlsxwriter.utility import xl_col_to_name

    bold = book.add_format({"bold": True, "bottom": 1})
    ranges = {}
    for place, (name, choices) in enumerate(CHOICES.items()):
        lists.write_string(0, place, name, bold)
        lists.set_column(place, place, 18)
        for row, choice in enumerate(choices, 1):
            lists.write_string(row, place, choice.value)
        letters = xl_col_to_name(place)
        ranges[name] = f"=choices!${letters}$2:${letters}${len(choices) + 1}"
    return ranges

"""Spreadsheet workbooks (.xlsx): unpacked size first, then the first sheet whose cells name columns.

Every cell becomes the text that a member would have typed: a date cell `2026-03-14`, a time cell `0:03:25`, a
percent cell `25 %`, a number with a point as its decimal mark.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Sequence
from datetime import date
from decimal import Decimal, InvalidOperation

import polars as pl

from pipeline.intake.files.headings import count_known, read_headings
from pipeline.intake.files.table import LINES_LOOKED_AT, TextTable, heading_place, refuse_too_many, rows_above
from pipeline.intake.files.workbook_marks import (
    ALL_MINUTES,
    CLOCK,
    HOURS_MINUTES,
    MINUTES_SECONDS,
    SheetMarks,
    sheet_marks,
)
from pipeline.intake.received import UnreadableError
from schemas.column import OwnHeadings
from schemas.kinds.kind import SheetKind

SIGNATURE = b"PK\x03\x04"
MOST_UNPACKED_BYTES = 200_000_000
MOST_PARTS = 2_000
MOST_CELLS = 10_000_000

_DAMAGE = (
    zipfile.BadZipFile,
    zlib.error,
    NotImplementedError,
    RuntimeError,
    EOFError,
    OSError,
    ValueError,
    KeyError,
)
_MIDNIGHT = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2}) 00:00:00(?:\.0+)?\Z")
_MOMENT = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2}) ([0-9]{2}):([0-9]{2}):([0-9]{2}(?:\.[0-9]+)?)\Z")
_DURATION_EPOCH = date(1899, 12, 31)
_EPOCH_1904 = date(1904, 1, 1)
_LAST_DURATION_YEAR = 1903
_THREE_DECIMALS = re.compile(r"-?[0-9]{1,3}\.[0-9]{3}\Z")


def read_workbook(content: bytes, kind: SheetKind, own: OwnHeadings = ()) -> TextTable:
    """The table of a workbook, its headings read as that kind's. Raises UnreadableError where it is none, is damaged, too large, or has no sheet
    with a heading line."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            _refuse_if_too_large(archive)
            names = archive.namelist()
            if "xl/workbook.xml" not in names:
                raise UnreadableError("other_archive")
            if archive.testzip() is not None:
                raise UnreadableError("workbook_damaged")
            marks = sheet_marks(archive)
    except _DAMAGE:
        raise UnreadableError("workbook_damaged") from None
    return _first_sheet(content, marks, kind, own)


def _refuse_if_too_large(archive: zipfile.ZipFile) -> None:
    parts = archive.infolist()
    unpacked = sum(part.file_size for part in parts)
    if unpacked > MOST_UNPACKED_BYTES or len(parts) > MOST_PARTS:
        raise UnreadableError(
            "workbook_too_large",
            size=f"{unpacked / 1e6:,.0f} MB",
            limit=f"{MOST_UNPACKED_BYTES / 1e6:,.0f} MB",
        )


def _first_sheet(content: bytes, marks: Sequence[SheetMarks], kind: SheetKind, own: OwnHeadings) -> TextTable:
    if not marks:
        raise UnreadableError("workbook_damaged")
    position, rows, heading_row = _chosen_sheet(content, marks, kind, own)
    mark = marks[position]
    typed = [_as_typed(row, number, mark) for number, row in enumerate(rows, 1)]
    headings = read_headings(rows[heading_row - 1], kind, own)
    records = typed[heading_row:]
    refuse_too_many(sum(1 for record in records if any(record)))
    return TextTable(
        "",
        headings,
        "",
        heading_row,
        None,
        records,
        _further_sheets(content, marks, position, kind, own),
        above=rows_above(typed[: heading_row - 1]),
        unfinished=frozenset(
            (row, column - mark.first_column) for row, column in mark.unfinished if row > heading_row
        ),
        hidden=tuple(row for row in sorted(mark.hidden_rows) if any(typed[row - 1 : row])),
        merged=tuple(cells for cells, last_row in mark.merged if last_row > heading_row),
    )


def _chosen_sheet(
    content: bytes, marks: Sequence[SheetMarks], kind: SheetKind, own: OwnHeadings
) -> tuple[int, list[list[str]], int]:
    """Position, rows and heading row of the first sheet with a complete heading line; where none has one, of the first
    that names columns. Hidden sheets are looked at only where no other names columns. Raises UnreadableError where
    none does."""
    chosen: tuple[int, list[list[str]], int] | None = None
    for hidden in (False, True):
        for position, mark in enumerate(marks):
            if mark.hidden is not hidden:
                continue
            if _is_sparse(mark):
                raise UnreadableError("workbook_sparse", row=f"{mark.last_row:,}")
            rows = _sheet_rows(content, position)
            try:
                _, heading_row = heading_place([("", rows[:LINES_LOOKED_AT])], kind, own)
            except UnreadableError:
                continue
            if read_headings(rows[heading_row - 1], kind, own).complete:
                return position, rows, heading_row
            chosen = chosen or (position, rows, heading_row)
        if chosen is not None:
            return chosen
    raise UnreadableError("no_heading", looked=str(LINES_LOOKED_AT))


def _is_sparse(mark: SheetMarks) -> bool:
    return mark.last_row * (mark.last_column - mark.first_column + 1) > MOST_CELLS


def _further_sheets(
    content: bytes, marks: Sequence[SheetMarks], chosen: int, kind: SheetKind, own: OwnHeadings
) -> tuple[str, ...]:
    """Names of the sheets beside the chosen one that have every required column and something below the heading. One
    that is damaged or sparse is passed by: it never costs the sheet that was read."""
    found: list[str] = []
    for position, mark in enumerate(marks):
        if position == chosen or _is_sparse(mark):
            continue
        try:
            name, rows = _named_rows(content, position, LINES_LOOKED_AT + 1)
        except UnreadableError:
            continue
        known = [count_known(row, kind, own) for row in rows]
        at = known.index(max(known)) if known else 0
        if known and not read_headings(rows[at], kind, own).missing and any(map(any, rows[at + 1 :])):
            found.append(name)
    return tuple(found)


def _sheet_rows(content: bytes, position: int) -> list[list[str]]:
    """All rows of one sheet from its first row, every cell as text, from the first used column on."""
    return _named_rows(content, position)[1]


def _named_rows(content: bytes, position: int, most: int | None = None) -> tuple[str, list[list[str]]]:
    """The name of one sheet, and its rows from the first on, up to `most` of them."""
    import fastexcel

    try:
        sheet = fastexcel.read_excel(content).load_sheet(
            position, header_row=None, skip_rows=0, n_rows=most, dtypes="string"
        )
        frame: pl.DataFrame = sheet.to_polars()
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # the library's own panics are no Exception
        raise UnreadableError("workbook_damaged") from error
    return sheet.name, [["" if cell is None else str(cell) for cell in row] for row in frame.iter_rows()]


def _as_typed(row: Sequence[str], number: int, marks: SheetMarks) -> list[str]:
    """One row's cells as a member would have typed them."""
    return [
        _cell_as_typed(cell, (number, column), marks) if cell else marks.errors.get((number, column), "")
        for column, cell in enumerate(row, marks.first_column)
    ]


def _cell_as_typed(cell: str, place: tuple[int, int], marks: SheetMarks) -> str:
    if place in marks.percent:
        return _percent(cell)
    if place in marks.three_decimals and _THREE_DECIMALS.match(cell):
        return f"{cell}0"
    day = _MIDNIGHT.match(cell)
    if day and int(cell[:4]) > _LAST_DURATION_YEAR:
        return day[1]
    moment = _MOMENT.match(cell)
    if moment and int(moment[1]) <= (_EPOCH_1904.year if marks.from_1904 else _LAST_DURATION_YEAR):
        return _clock(moment, marks.times.get(place, ""), _EPOCH_1904 if marks.from_1904 else _DURATION_EPOCH)
    return cell


def _percent(cell: str) -> str:
    """`0.25` of a percent cell as the 25 % that it shows."""
    try:
        shown = f"{Decimal(cell) * 100:f}"
    except InvalidOperation:
        return cell
    return (shown.rstrip("0").rstrip(".") if "." in shown else shown) + " %"


def _clock(moment: re.Match[str], form: str, epoch: date) -> str:
    """A time cell, which arrives as a moment of the first days, as its format shows it; hours and minutes as h:mm:00,
    and minutes and seconds that hide an hour as h:mm:ss."""
    year, month, day, hour, minute = (int(moment[part]) for part in range(1, 6))
    days = (date(year, month, day) - epoch).days
    hundredths = round(((days * 24 + hour) * 60 + minute) * 6000 + float(moment[6]) * 100)
    if hundredths < 0:
        return moment[0]
    seconds, part = divmod(hundredths, 100)
    decimals = f".{part:02d}".rstrip("0") if part else ""
    if form == ALL_MINUTES or (form == MINUTES_SECONDS and seconds < 3600):
        return f"{seconds // 60}:{seconds % 60:02d}{decimals}"
    if form == CLOCK:
        hours = seconds // 3600 % 24
        return (
            f"{hours % 12 or 12}:{seconds // 60 % 60:02d}:{seconds % 60:02d} {'AM' if hours < 12 else 'PM'}"
        )
    if form == HOURS_MINUTES:
        return f"{seconds // 3600}:{seconds // 60 % 60:02d}:00"
    return f"{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}{decimals}"

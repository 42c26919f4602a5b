"""Small run sheets for the intake tests."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

from pipeline.intake.steps import ReceivedFile, Sheets, read_sheets
from schemas.kinds.run import RUN

PLAIN = {
    "member": "fen-07",
    "series": "bench A",
    "tested_on": "2026-03-14",
    "climate_zone": "Cfb",
    "setup_type": "rack",
    "pot_volume": "1 l",
    "component": "perlite",
    "component_grade": "medium",
    "component_share": "40",
    "pot_no": "1",
    "pour_no": "1",
    "poured": "300 ml",
    "collected": "150 ml",
    "drain_time": "3:25",
}


def sheet(*rows: Mapping[str, str], separator: str = ",", end: str = "\r\n") -> str:
    """A run sheet of rows that differ from a plain one as given; None as a value leaves the column out."""
    names = list(dict.fromkeys([*PLAIN, *(name for row in rows for name in row)]))
    gone = {name for row in rows for name, value in row.items() if value is None}
    names = [name for name in names if name not in gone]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator=end)
    writer.writerow(names)
    for row in rows or ({},):
        writer.writerow([{**PLAIN, **row}.get(name, "") for name in names])
    return out.getvalue()


def read(*contents: str | bytes) -> Sheets:
    """The files read as one batch."""
    return read_sheets(
        [
            ReceivedFile(f"sheet-{at}.csv", content.encode() if isinstance(content, str) else content)
            for at, content in enumerate(contents)
        ],
        RUN,
    )


def rules(sheets: Sheets, row: int | None = -1) -> list[str]:
    """Rule ids found, in order; for one row only, where given (None: said of the whole file)."""
    found = sheets.problems
    if row is None:
        found = found.filter(pl.col("sheet_row").is_null())
    elif row >= 0:
        found = found.filter(pl.col("sheet_row") == row)
    return found["rule"].to_list()


def values(sheets: Sheets, column: str) -> list[Any]:
    """One column of the typed frame."""
    return sheets.typed[column].to_list()


def counted(rows: Sequence[Mapping[str, str]], **same: str) -> list[dict[str, str]]:
    """Rows with the same cells in all of them."""
    return [{**same, **row} for row in rows]

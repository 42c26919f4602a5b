"""A problem is one line of one frame, from the first stage that finds it to the receipt that words it."""

from __future__ import annotations

import polars as pl

PROBLEM_SCHEMA: dict[str, pl.DataType] = {
    "file_id": pl.UInt32(),
    "sheet_row": pl.UInt32(),
    "column": pl.String(),
    "value": pl.String(),
    "rule": pl.String(),
    "details": pl.String(),
}
PROBLEM_COLUMNS: tuple[str, ...] = tuple(PROBLEM_SCHEMA)

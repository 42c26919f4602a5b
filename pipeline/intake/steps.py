"""Intake in order: bytes → text → table → cells → what each file settles → values, with every problem on the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from hashlib import sha256

import polars as pl

from pipeline.intake.gather import gather
from pipeline.intake.opening import Batch, open_all
from pipeline.intake.received import Finding, ReceivedFile, Sheets, problem_frame
from pipeline.intake.settle import Settled, settle, settled_findings
from pipeline.intake.shape import KEYS, heading_findings, ragged_rows, whole_rows
from pipeline.intake.typed import on_all_rows, typed_frame
from schemas.columns import SHEET_COLUMNS
from schemas.problems import PROBLEM_SCHEMA

__all__ = ["ReceivedFile", "Sheets", "read_sheets"]


def read_sheets(files: Sequence[ReceivedFile]) -> Sheets:
    """A batch of files read and converted; one that can't be read never stops the others."""
    batch = open_all(files)
    gathered = gather(list(batch.tables.items()))
    rows = _rows_by_file(gathered)
    for file_id in [file_id for file_id in batch.tables if file_id not in rows]:
        batch.refuse(file_id, Finding("no_rows", {}))
    batch.found.extend(heading_findings(batch.tables, gathered))

    cells = gathered.select(*KEYS, *(one.name for one in SHEET_COLUMNS if one.name in gathered.columns))
    ragged = ragged_rows(gathered, batch.tables)
    whole = whole_rows(cells, batch.tables, ragged)
    trusted = cells if whole.all() else cells.filter(whole)

    settled = settle(trusted, batch.workbooks)
    headings = {file_id: table.headings for file_id, table in batch.tables.items() if table.headings.complete}
    typed, problems, said_once = typed_frame(trusted, headings, settled)
    batch.found.extend([*settled_findings(settled), *said_once])
    return Sheets(
        files=_files_frame(files, batch, rows, settled),
        cells=cells,
        typed=on_all_rows(typed, cells),
        problems=_in_order([problem_frame(batch.found), ragged, *problems]),
    )


def _rows_by_file(gathered: pl.DataFrame) -> dict[int, int]:
    return dict(gathered.group_by("file_id").len().iter_rows())


def _files_frame(
    files: Sequence[ReceivedFile], batch: Batch, rows: Mapping[int, int], settled: Settled
) -> pl.DataFrame:
    """One line per file received, readable or not."""
    every = range(len(files))
    return pl.DataFrame(
        {
            "file_id": pl.Series(every, dtype=pl.UInt32),
            "file": pl.Series([file.name for file in files], dtype=pl.String),
            "submission": pl.Series([sha256(file.content).hexdigest() for file in files], dtype=pl.String),
            "rows": pl.Series([rows.get(file_id, 0) for file_id in every], dtype=pl.UInt32),
            "readable": pl.Series([file_id in batch.tables for file_id in every], dtype=pl.Boolean),
            "decimal_mark": pl.Series([settled.decimal_mark(file_id) for file_id in every], dtype=pl.String),
        }
    )


def _in_order(found: Sequence[pl.DataFrame]) -> pl.DataFrame:
    """One problem frame by file and row, what is said of the whole file first, then by column of the sheet."""
    told = [frame.select(*PROBLEM_SCHEMA) for frame in found if frame.height]
    if not told:
        return pl.DataFrame(schema=PROBLEM_SCHEMA)
    return pl.concat(told).sort(KEYS, nulls_last=False, maintain_order=True)

"""What loading a sheet would do to a pool, said without doing it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.load.database import store
from pipeline.load.database.rows import accepted_to_store
from pipeline.load.truth.journal import Line
from pipeline.load.truth.records import CheckedSheets
from pipeline.load.views.mending import mending_counts, mending_sentence
from pipeline.load.views.reading import receipts_frame, receipts_in_force, stored_rows, touching
from pipeline.load.views.runs_that_wait import ASKED_COLUMNS, WAITING, waiting_in
from pipeline.load.views.status import SERIES, key_columns
from schemas.kinds.registry import kind_named
from schemas.kinds.run import RUN

AFTER_ALL_OTHERS = datetime(9999, 1, 1)
ARRIVING: dict[str, pl.DataType | type[pl.DataType]] = {
    "receipt": pl.Int64,
    "submission": pl.String,
    "received": pl.Datetime("us"),
    "whole_series": pl.Boolean,
}


def preview(pool: Path, checked: CheckedSheets) -> dict[int, tuple[str, ...]]:
    """Advice lines per file_id: that the sheet is already there, or what it would mend. Files that would simply
    be added have none. Reads the readers' copy; changes nothing."""
    with store.reading(pool) as connection:
        would_be = _would_be(connection, checked)
        kinds = [kind_named(name) for name in checked.files["kind"].unique().sort()]
        meeting = {}
        for kind in kinds:
            slim = accepted_to_store(checked, would_be.fresh, kind).select(key_columns(kind))
            earlier = touching(connection, slim.select(SERIES).unique(), kind)
            meeting[kind] = pl.concat([earlier, slim])
    new = list(would_be.fresh.values())
    would = {
        row["receipt"]: mending_sentence(row, False)
        for kind, runs in meeting.items()
        for row in mending_counts(runs, would_be.receipts, would_be.lines, new, kind).iter_rows(named=True)
    }
    notes: dict[int, tuple[str, ...]] = {}
    for file_id, submission in zip(checked.files["file_id"], checked.files["submission"], strict=True):
        if submission in would_be.there:
            day = would_be.there[submission]["received"].date()
            notes[file_id] = (f"already in the pool, received {day}; loading it again changes nothing",)
        elif would_be.fresh[file_id] in would:
            notes[file_id] = (f"if loaded: {would[would_be.fresh[file_id]]}",)
    return notes


def would_wait(pool: Path, checked: CheckedSheets) -> pl.DataFrame:
    """file_id, sheet_row, series and what is asked (`WAITING`) of the accepted runs that wait, or would wait once they are
    loaded. Reads the readers' copy; changes nothing."""
    with store.reading(pool) as connection:
        would_be = _would_be(connection, checked)
        stored = stored_rows(connection, RUN, ASKED_COLUMNS)
    arriving = accepted_to_store(checked, would_be.fresh, RUN)
    waiting = waiting_in(
        pl.concat([stored, arriving.select(stored.columns)]), would_be.receipts, would_be.lines, RUN
    )
    return of_files(waiting, checked)


def of_files(waiting: pl.DataFrame, checked: CheckedSheets) -> pl.DataFrame:
    """The waiting runs of the checked files: file_id, sheet_row, series and what is asked."""
    files = checked.files.select("file_id", "submission")
    return waiting.join(files, on="submission").select(
        "file_id", pl.col("sheet_row").cast(pl.UInt32), "series", *WAITING
    )


@dataclass(frozen=True)
class _WouldBe:
    """The pool with checked sheets received after all others. there: those that are in force already, by submission;
    fresh: file_id -> number of the receipt that each other one would get; receipts: all of them."""

    lines: Sequence[Line]
    receipts: pl.DataFrame
    there: Mapping[str, Mapping[str, Any]]
    fresh: Mapping[int, int]


def _would_be(connection: store.Connection, checked: CheckedSheets) -> _WouldBe:
    submissions = dict(zip(checked.files["file_id"], checked.files["submission"], strict=True))
    lines = store.lines_of(connection)
    there = receipts_in_force(connection, lines, sorted(set(submissions.values())))
    start = (lines[-1].n if lines else 0) + 1
    fresh = {
        file_id: start + position
        for position, (file_id, submission) in enumerate(submissions.items())
        if submission not in there
    }
    arriving = pl.DataFrame(
        [(number, submissions[file_id], AFTER_ALL_OTHERS, False) for file_id, number in fresh.items()],
        schema=ARRIVING,
        orient="row",
    )
    receipts = pl.concat([receipts_frame(connection).select(arriving.columns), arriving])
    return _WouldBe(lines, receipts, there, fresh)

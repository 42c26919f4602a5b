"""What loading a sheet would do to a pool, said without doing it."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import polars as pl

from pipeline.load.database import store
from pipeline.load.database.rows import accepted_to_store
from pipeline.load.truth.records import CheckedSheets
from pipeline.load.views.mending import mending_counts, mending_sentence
from pipeline.load.views.reading import receipts_frame, receipts_in_force, touching
from pipeline.load.views.status import SERIES, key_columns
from schemas.kinds.registry import kind_named

AFTER_ALL_OTHERS = datetime(9999, 1, 1)


def preview(pool: Path, checked: CheckedSheets) -> dict[int, tuple[str, ...]]:
    """Advice lines per file_id: that the sheet is already there, or what it would mend. Files that would simply
    be added have none. Reads the readers' copy; changes nothing."""
    submissions = dict(zip(checked.files["file_id"], checked.files["submission"], strict=True))
    with store.reading(pool) as connection:
        lines = store.lines_of(connection)
        receipts = receipts_frame(connection)
        there = receipts_in_force(connection, lines, sorted(set(submissions.values())))
        start = (lines[-1].n if lines else 0) + 1
        numbers = {file_id: start + position for position, file_id in enumerate(submissions)}
        fresh = {file_id: number for file_id, number in numbers.items() if submissions[file_id] not in there}
        kinds = [kind_named(name) for name in checked.files["kind"].unique().sort()]
        meeting = {}
        for kind in kinds:
            slim = accepted_to_store(checked, fresh, kind).select(key_columns(kind))
            earlier = touching(connection, slim.select(SERIES).unique(), kind)
            meeting[kind] = pl.concat([earlier, slim])
    arriving = pl.DataFrame(
        [(number, submissions[file_id], AFTER_ALL_OTHERS, False) for file_id, number in fresh.items()],
        schema={
            "receipt": pl.Int64,
            "submission": pl.String,
            "received": pl.Datetime("us"),
            "whole_series": pl.Boolean,
        },
        orient="row",
    )
    known = pl.concat([receipts.select(arriving.columns), arriving])
    would = {
        row["receipt"]: mending_sentence(row, False)
        for kind, runs in meeting.items()
        for row in mending_counts(runs, known, lines, list(fresh.values()), kind).iter_rows(named=True)
    }
    notes: dict[int, tuple[str, ...]] = {}
    for file_id, submission in submissions.items():
        if submission in there:
            day = there[submission]["received"].date()
            notes[file_id] = (f"already in the pool, received {day}; loading it again changes nothing",)
        elif numbers[file_id] in would:
            notes[file_id] = (f"if loaded: {would[numbers[file_id]]}",)
    return notes

"""Speed of the store alone at 1 000 000 runs in 5 000 sheets: load, look, verify, one sheet more. Run with this
file's path; each figure is printed, and held to about twice what was measured on 2 slow cores.

Measured: load 8.6 s (of issue 2's 30 s for the whole line), view 1.6 s, verify 4.2 s (issue 4: 20 s), one sheet
more 0.3 s without starting Python (issue 4: 1.5 s whole process; 1.0 s measured).
"""

from __future__ import annotations

import datetime
import hashlib
import time
from pathlib import Path

import numpy as np
import polars as pl

from pipeline.load.changes.receiving import receive
from pipeline.load.keeping.verifying import store_findings
from pipeline.load.truth.records import Arrival
from pipeline.load.views.reading import view
from schemas.column import FrameType
from schemas.frame_types import polars_type
from schemas.kinds.run import RUN
from tests.store.plain_sheets import PlainChecked, check, opened

SHEETS, ROWS, SHEETS_AT_ONCE = 5000, 200, 500
WORDS = np.array(["alpha", "beta", "gamma", "some longer text"])
SERIES_PER_SHEET = 5


def drawn(first: int, sheets: int) -> tuple[list[bytes], PlainChecked]:
    """Bytes of about the usual size, and checked frames with every column, for a batch of sheets."""
    rng = np.random.default_rng(first)
    contents = [f"sheet {first + at}\n".encode() + rng.bytes(12_000) for at in range(sheets)]
    hashes = [hashlib.sha256(content).hexdigest() for content in contents]
    file_id, row = np.repeat(np.arange(sheets), ROWS), np.tile(np.arange(ROWS), sheets)
    columns = {column.name: _column(rng, column.frame, column.nullable, len(row)) for column in RUN.kept}
    series = pl.Series((file_id + first) * SERIES_PER_SHEET + row // 40).cast(pl.String)
    member = pl.Series((file_id + first) // 3).cast(pl.String)
    runs = pl.DataFrame({name: series_.cast(polars_type(_frame(name))) for name, series_ in columns.items()})
    runs = runs.with_columns(
        member.alias("member"),
        member.alias("member_key"),
        series.alias("series"),
        series.alias("series_key"),
        pl.Series("component_share", (row % 40) // 8 * 15.0),
        pl.Series("pot_no", row % 8 // 2 + 1),
        pl.Series("pour_no", row % 2 + 1),
        pl.lit("reached").alias("ended"),
        pl.Series("submission", np.array(hashes)[file_id]),
        pl.Series("sheet_row", row + 2),
    )
    nothing = check([], datetime.date(2026, 3, 1), {})
    files = pl.DataFrame(
        {
            "file_id": range(sheets),
            "submission": hashes,
            "rows": ROWS,
            "accepted": ROWS,
            "held": 0,
            "readable": True,
        }
    ).cast({"file_id": pl.UInt32})
    accepted = runs.insert_column(0, pl.Series("file_id", file_id).cast(pl.UInt32))
    return contents, PlainChecked(files, accepted, nothing.held, nothing.problems)


def _frame(name: str) -> FrameType:
    return next(column.frame for column in RUN.kept if column.name == name)


def _column(rng: np.random.Generator, frame: FrameType, nullable: bool, rows: int) -> pl.Series:
    if nullable and rng.random() < 0.6:
        return pl.Series([None], dtype=polars_type(frame)).new_from_index(0, rows)
    match frame:
        case "number":
            return pl.Series(np.round(rng.lognormal(4, 1, rows), 1))
        case "whole":
            return pl.Series(rng.integers(1, 9, rows))
        case "flag":
            return pl.Series(np.zeros(rows, bool))
        case "date":
            return pl.Series([datetime.date(2026, 3, 1)]).new_from_index(0, rows)
    return pl.Series(WORDS[rng.integers(0, len(WORDS), rows)])


def load(pool: Path, batches: list[tuple[list[bytes], PlainChecked]]) -> float:
    """Seconds from opening the pool to its readers' copy."""
    began = time.perf_counter()
    with opened(pool) as writer:
        for contents, checked in batches:
            arrivals = [Arrival(at, f"{at}.csv", content) for at, content in enumerate(contents)]
            receive(writer, arrivals, checked)
    return time.perf_counter() - began


def test_a_million_runs(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    batches = [drawn(first, SHEETS_AT_ONCE) for first in range(0, SHEETS, SHEETS_AT_ONCE)]
    seconds = {"load": load(pool, batches)}
    del batches
    began = time.perf_counter()
    assert view(pool).counts["runs"] == SHEETS * ROWS
    seconds["view"] = time.perf_counter() - began
    began = time.perf_counter()
    with opened(pool, settings=None) as writer:
        assert store_findings(writer) == []
    seconds["verify"] = time.perf_counter() - began
    seconds["one more"] = load(pool, [drawn(SHEETS, 1)])
    print({name: round(value, 2) for name, value in seconds.items()})
    assert seconds["load"] < 17
    assert seconds["view"] < 4
    assert seconds["verify"] < 10
    assert seconds["one more"] < 1

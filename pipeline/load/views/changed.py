"""What became of the runs between two cutoffs of a pool."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from pipeline.load.database import store
from pipeline.load.truth.journal import Line
from pipeline.load.truth.records import Cutoff
from pipeline.load.views.reading import receipts_frame
from pipeline.load.views.status import key_columns, known_lines, with_status
from schemas.kinds.registry import kind_named
from schemas.kinds.run import RUN
from schemas.store import rows_table
from schemas.trade.changed import Changed

PLACE = ["receipt", "sheet_row"]


def changed_between(
    connection: store.Connection, lines: Sequence[Line], before: Cutoff, after: Cutoff
) -> Changed:
    """The runs that stand otherwise at `after` than at `before`, by what happened to them."""
    kind = kind_named(RUN.name)
    receipts = receipts_frame(connection)
    rows = store.frame(
        connection,
        f"SELECT {', '.join(key_columns(kind))} FROM {rows_table(kind)}",  # noqa: S608 our own names
    )
    then, now = (
        with_status(rows, receipts, lines, cutoff, kind).select(*PLACE, "status")
        for cutoff in (before, after)
    )
    both = now.join(then, on=PLACE, how="full", suffix="_before", coalesce=True)

    def moved(was: pl.Expr, to: str) -> int:
        return both.filter(was & (pl.col("status") == to)).height

    was_in = pl.col("status_before").is_in(["in force", "waits"])
    was_out = pl.col("status_before").is_in(["withdrawn", "set aside"])
    counted_before = pl.col("status_before").is_not_null() & pl.col("status_before").ne("replaced")
    mended = moved(counted_before, "replaced")
    return Changed(
        new=max(0, moved(pl.col("status_before").is_null(), "in force") - mended),
        mended=mended,
        withdrawn=moved(counted_before & pl.col("status_before").ne("withdrawn"), "withdrawn"),
        erased=_erased(lines, before, after),
        set_aside=moved(was_in, "set aside"),
        back=moved(was_out, "in force"),
        waits=moved(
            pl.col("status_before").is_null() | was_in & pl.col("status_before").ne("waits"), "waits"
        ),
        answered=sum(line.event == "answered" for line in _between(lines, before, after)),
    )


def _between(lines: Sequence[Line], before: Cutoff, after: Cutoff) -> list[Line]:
    known = {line.n for line in known_lines(lines, before)}
    return [line for line in known_lines(lines, after) if line.n not in known]


def _erased(lines: Sequence[Line], before: Cutoff, after: Cutoff) -> int:
    """Runs erased between the two reports: an erasure is known at once, whatever the cutoff in time."""
    first, last = before.known_before or 0, after.known_before or len(lines) + 1
    return sum(
        kept["erased_runs"]
        for line in lines
        if line.event == "erased" and first < line.n < last
        for kept in line.payload["receipts"].values()
    )

"""Looking at a pool: frames out of the store, cut to what is in force at a cutoff."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.load.database import store
from pipeline.load.truth.journal import Line
from pipeline.load.truth.records import EVERYTHING, Cutoff, View
from pipeline.load.views.runs_that_wait import (
    ASKED_COLUMNS,
    standing,
    waiting_in,
    waiting_runs,
)
from pipeline.load.views.status import SERIES, key_columns, with_status
from pipeline.load.views.waiting import waiting_rows
from schemas.kinds.kind import SheetKind
from schemas.kinds.registry import KINDS, kind_named
from schemas.kinds.run import RUN
from schemas.store import rows_table


def receipts_frame(connection: store.Connection) -> pl.DataFrame:
    """All receipts: receipt, kind, submission, file, received, rows, accepted, held, readable, whole_series."""
    return store.frame(connection, "SELECT * FROM receipts ORDER BY receipt")


def stored_rows(
    connection: store.Connection, kind: SheetKind, columns: Sequence[str] | None = None
) -> pl.DataFrame:
    """Every accepted row of a kind of sheet, in force or not, with its receipt and these columns, or all."""
    names = "*" if columns is None else ", ".join(["receipt", *columns])
    return store.frame(connection, f"SELECT {names} FROM {rows_table(kind)}")  # noqa: S608 our own names


def touching(connection: store.Connection, series: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """The key columns of every accepted row of a kind of sheet, in force or not, of the given (member_key, series_key) pairs."""
    return store.frame(
        connection,
        f"SELECT {', '.join(key_columns(kind))} FROM {rows_table(kind)} SEMI JOIN wanted "  # noqa: S608 our own names
        "USING (member_key, series_key)",
        wanted=series.select(SERIES),
    )


def view(pool: Path, cutoff: Cutoff = EVERYTHING, kind: SheetKind | None = None) -> View:
    """Rows in force, held rows that wait, receipts and counts at a cutoff, all from one state of the store, of one
    kind of sheet: run sheets where none is named.

    Raises DrainpoolError where the folder holds no readable pool."""
    with store.reading(pool) as connection:
        return look(connection, store.lines_of(connection), cutoff, kind)


def look(
    connection: store.Connection,
    lines: Sequence[Line],
    cutoff: Cutoff = EVERYTHING,
    kind: SheetKind | None = None,
) -> View:
    """`view` through a connection that is open already, with the journal that goes with it."""
    kind = kind or kind_named(RUN.name)
    receipts = receipts_frame(connection)
    stored = stored_rows(connection, kind)
    held = store.frame(connection, "SELECT * FROM held")
    stood, questions = standing(stored, receipts, lines, cutoff, kind)
    runs = _runs(stored, stood, receipts, kind)
    asked = waiting_runs(stored, questions, receipts, kind)
    waiting = waiting_rows(held, stood, receipts, lines, cutoff, kind)
    alive = stood.filter(pl.col("status") == "in force").group_by("receipt").agg(pl.len().alias("in_force"))
    seen = (
        _receipts(receipts.filter(pl.col("kind") == kind.name), cutoff)
        .join(alive, on="receipt", how="left")
        .with_columns(pl.col("in_force").fill_null(0).cast(pl.Int64))
    )
    counts = {
        "members": runs["member_key"].n_unique(),
        "series": runs.select(SERIES).n_unique(),
        "runs": runs.height,
        "held": waiting.filter(pl.col("sheet_row").is_not_null()).height,
        "waits": asked.height,
        "receipts": seen.height,
    }
    return View(runs, waiting, asked, seen, counts)


def _receipts(receipts: pl.DataFrame, cutoff: Cutoff) -> pl.DataFrame:
    if cutoff.known_before is not None:
        receipts = receipts.filter(pl.col("receipt") < cutoff.known_before)
    if cutoff.received_until is not None:
        receipts = receipts.filter(pl.col("received") <= cutoff.received_until.replace(tzinfo=None))
    return receipts.sort("received", "receipt")


def _runs(stored: pl.DataFrame, stood: pl.DataFrame, receipts: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """The whole rows of the runs in force, with their submission, in the canonical columns and order."""
    places = stood.filter(pl.col("status") == "in force")["place"]
    whole = (
        stored[places.to_list()]
        if len(places) < stored.height // 2
        else stored.filter(pl.int_range(pl.len(), dtype=pl.UInt32).is_in(places.implode()))
    )
    whole = whole.join(receipts.select("receipt", "submission"), on="receipt", how="left")
    return (
        _first_spellings(whole, stored, stood)
        .select(kind.kept_names)
        .sort([*kind.run_keys, "submission", "sheet_row"])
    )


def _first_spellings(runs: pl.DataFrame, stored: pl.DataFrame, stood: pl.DataFrame) -> pl.DataFrame:
    """Members and series under the spelling of the first receipt that named them."""
    for name, keys in (("member", ["member_key"]), ("series", SERIES)):
        several = runs.group_by(keys).agg(pl.col(name).n_unique().alias("spellings"))
        several = several.filter(pl.col("spellings") > 1)
        if several.is_empty():
            continue
        ranks = stood.select("place", "rank")
        first = (
            stored.with_row_index("place")
            .join(ranks, on="place")
            .join(several, on=keys, how="semi")
            .sort("rank", "sheet_row")
            .group_by(keys, maintain_order=True)
            .agg(pl.col(name).first().alias("spelling"))
        )
        runs = (
            runs.join(first, on=keys, how="left")
            .with_columns(pl.coalesce("spelling", name).alias(name))
            .drop("spelling")
        )
    return runs


def runs_waiting(pool: Path, cutoff: Cutoff = EVERYTHING) -> pl.DataFrame:
    """The runs that wait for an answer at a cutoff: see `View.waiting`."""
    return view(pool, cutoff).waiting


def waiting_now(connection: store.Connection, lines: Sequence[Line]) -> pl.DataFrame:
    """The runs that wait as the pool stands, through a connection that is open already."""
    run = kind_named(RUN.name)
    return waiting_in(stored_rows(connection, run, ASKED_COLUMNS), receipts_frame(connection), lines, run)


def runs_in_force(pool: Path, cutoff: Cutoff = EVERYTHING) -> pl.DataFrame:
    """The canonical run frame of the runs in force at a cutoff, sorted by member, series, share, pot, pour."""
    return view(pool, cutoff).runs


def held_rows(pool: Path, cutoff: Cutoff = EVERYTHING) -> pl.DataFrame:
    """Held rows of sheets of every kind that no later sheet has cleared: see `View.held`."""
    with store.reading(pool) as connection:
        lines = store.lines_of(connection)
        return pl.concat(look(connection, lines, cutoff, kind).held for kind in KINDS.values())


def receipts_in_force(
    connection: store.Connection, lines: Sequence[Line], submissions: Sequence[str]
) -> dict[str, dict[str, Any]]:
    """Of the given submissions those with a receipt in force -> that receipt's row.

    A receipt is in force while any of its runs is neither replaced nor withdrawn; one without accepted rows,
    until it is withdrawn by its hash."""
    wanted = pl.DataFrame({"submission": list(submissions)}, schema={"submission": pl.String})
    receipts = receipts_frame(connection)
    mine = receipts.join(wanted, on="submission", how="semi")
    if mine.is_empty():
        return {}
    alive = set[int]().union(
        *(_alive(connection, lines, receipts, mine, kind_named(name)) for name in mine["kind"].unique())
    )
    withdrawn = _withdrawn_whole(lines)
    return {
        row["submission"]: row
        for row in mine.sort("receipt").iter_rows(named=True)
        if row["receipt"] in alive
        or (row["accepted"] == 0 and withdrawn.get(row["submission"], 0) < row["receipt"])
    }


def _alive(
    connection: store.Connection,
    lines: Sequence[Line],
    receipts: pl.DataFrame,
    mine: pl.DataFrame,
    kind: SheetKind,
) -> set[int]:
    """Receipts with a row in force or set aside in a series that one of `mine` has rows of this kind in."""
    series = store.frame(
        connection,
        f"SELECT DISTINCT member_key, series_key FROM {rows_table(kind)} SEMI JOIN wanted USING (receipt)",  # noqa: S608 our own names
        wanted=mine.select("receipt"),
    )
    rows = with_status(touching(connection, series, kind), receipts, lines, EVERYTHING, kind)
    return set(rows.filter(pl.col("status").is_in(["in force", "set aside"]))["receipt"].to_list())


def _withdrawn_whole(lines: Sequence[Line]) -> dict[str, int]:
    """Submission -> journal line of its withdrawal, for those withdrawn by their hash and not restored."""
    found: dict[str, int] = {}
    for line in lines:
        if line.event in ("withdrawn", "restored") and line.payload["scope"] == "submission":
            found[line.payload["submission"]] = line.n if line.event == "withdrawn" else 0
    return found

"""Looking at a pool: frames out of the store, cut to what is in force at a cutoff."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.load import store
from pipeline.load.journal import Line
from pipeline.load.records import EVERYTHING, Cutoff, View
from pipeline.load.standing import KEY_COLUMNS, SERIES, standing
from pipeline.load.waiting import waiting_rows
from schemas.columns import RUN_COLUMN_NAMES

ORDER = ["member_key", "series_key", "component_share", "pot_no", "pour_no", "submission", "sheet_row"]


def receipts_frame(connection: store.Connection) -> pl.DataFrame:
    """All receipts: receipt, submission, file, received, rows, accepted, held, readable, whole_series."""
    return store.frame(connection, "SELECT * FROM receipts ORDER BY receipt")


def touching(connection: store.Connection, series: pl.DataFrame) -> pl.DataFrame:
    """The key columns of every run, in force or not, of the given (member_key, series_key) pairs."""
    return store.frame(
        connection,
        f"SELECT {', '.join(KEY_COLUMNS)} FROM runs SEMI JOIN wanted USING (member_key, series_key)",  # noqa: S608
        wanted=series.select(SERIES),
    )


def view(pool: Path, cutoff: Cutoff = EVERYTHING) -> View:
    """Runs in force, held rows that wait, receipts and counts at a cutoff, all from one state of the store.

    Raises DrainpoolError where the folder holds no readable pool."""
    with store.reading(pool) as connection:
        return look(connection, store.lines_of(connection), cutoff)


def look(connection: store.Connection, lines: Sequence[Line], cutoff: Cutoff = EVERYTHING) -> View:
    """`view` through a connection that is open already, with the journal that goes with it."""
    receipts = receipts_frame(connection)
    stored = store.frame(connection, "SELECT * FROM runs")
    held = store.frame(connection, "SELECT * FROM held")
    slim = stored.select(KEY_COLUMNS).with_row_index("place")
    stood = standing(slim, receipts, lines, cutoff)
    runs = _runs(stored, stood, receipts)
    waiting = waiting_rows(held, stood, receipts, lines, cutoff)
    alive = stood.filter(pl.col("standing") == "in force").group_by("receipt").agg(pl.len().alias("in_force"))
    seen = (
        _receipts(receipts, cutoff)
        .join(alive, on="receipt", how="left")
        .with_columns(pl.col("in_force").fill_null(0).cast(pl.Int64))
    )
    counts = {
        "members": runs["member_key"].n_unique(),
        "series": runs.select(SERIES).n_unique(),
        "runs": runs.height,
        "held": waiting.filter(pl.col("sheet_row").is_not_null()).height,
        "receipts": seen.height,
    }
    return View(runs, waiting, seen, counts)


def _receipts(receipts: pl.DataFrame, cutoff: Cutoff) -> pl.DataFrame:
    if cutoff.known_before is not None:
        receipts = receipts.filter(pl.col("receipt") < cutoff.known_before)
    if cutoff.received_until is not None:
        receipts = receipts.filter(pl.col("received") <= cutoff.received_until.replace(tzinfo=None))
    return receipts.sort("received", "receipt")


def _runs(stored: pl.DataFrame, stood: pl.DataFrame, receipts: pl.DataFrame) -> pl.DataFrame:
    """The whole rows of the runs in force, with their submission, in the canonical columns and order."""
    places = stood.filter(pl.col("standing") == "in force")["place"]
    whole = (
        stored[places.to_list()]
        if len(places) < stored.height // 2
        else stored.filter(pl.int_range(pl.len(), dtype=pl.UInt32).is_in(places.implode()))
    )
    whole = whole.join(receipts.select("receipt", "submission"), on="receipt", how="left")
    return _first_spellings(whole, stored, stood).select(RUN_COLUMN_NAMES).sort(ORDER)


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


def runs_in_force(pool: Path, cutoff: Cutoff = EVERYTHING) -> pl.DataFrame:
    """The canonical run frame of the runs in force at a cutoff, sorted by member, series, share, pot, pour."""
    return view(pool, cutoff).runs


def held_rows(pool: Path, cutoff: Cutoff = EVERYTHING) -> pl.DataFrame:
    """Held rows that no later sheet has cleared: see `View.held`."""
    return view(pool, cutoff).held


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
    series = store.frame(
        connection,
        "SELECT DISTINCT member_key, series_key FROM runs SEMI JOIN wanted USING (receipt)",
        wanted=mine.select("receipt"),
    )
    stood = standing(touching(connection, series), receipts, lines, EVERYTHING)
    alive = set(stood.filter(pl.col("standing").is_in(["in force", "set aside"]))["receipt"].to_list())
    withdrawn = _withdrawn_whole(lines)
    return {
        row["submission"]: row
        for row in mine.sort("receipt").iter_rows(named=True)
        if row["receipt"] in alive
        or (row["accepted"] == 0 and withdrawn.get(row["submission"], 0) < row["receipt"])
    }


def _withdrawn_whole(lines: Sequence[Line]) -> dict[str, int]:
    """Submission -> journal line of its withdrawal, for those withdrawn by their hash and not restored."""
    found: dict[str, int] = {}
    for line in lines:
        if line.event in ("withdrawn", "restored") and line.payload["scope"] == "submission":
            found[line.payload["submission"]] = line.n if line.event == "withdrawn" else 0
    return found

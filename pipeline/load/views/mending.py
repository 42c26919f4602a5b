"""What a sheet mends: counted for the advice line of its receipt, before or after it is loaded."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import polars as pl

from pipeline.load.truth.journal import Line
from pipeline.load.views.status import (
    SERIES,
    exact_keys,
    gone_at,
    place_shares,
    ranked_receipts,
    shares_agree,
    with_decisions,
)
from schemas.kinds.kind import SheetKind


def mending_counts(
    runs: pl.DataFrame, receipts: pl.DataFrame, lines: Sequence[Line], new: Sequence[int], kind: SheetKind
) -> pl.DataFrame:
    """One row per new receipt that meets other runs of its own series: receipt, mended, added, kept, gone,
    dates (days on which the earlier sheets were received, rising), replaced, replaced_by (days of later sheets).

    runs: the runs of every series that a new receipt touches, the new ones among them; `new`: their receipts.
    mended: runs of the new sheet that take the place of earlier ones; added: the other runs of those series;
    kept: earlier runs that stay; gone: earlier runs that leave without a successor (`--whole-series`).
    replaced: runs of the new sheet whose place a sheet received later has taken already.
    """
    ranked = ranked_receipts(receipts)
    runs = runs.join(ranked.select("receipt", "rank", "received", "whole_series"), on="receipt", how="inner")
    runs = runs.join(gone_at(runs, kind), on=["receipt", "sheet_row"], how="left")
    runs = with_decisions(runs, receipts, lines)
    fresh = runs.filter(pl.col("receipt").is_in(list(new)))
    counted = _counted(fresh, runs, kind).join(
        _replaced(fresh, ranked), on="receipt", how="full", coalesce=True
    )
    numbers = [name for name, kind in _SCHEMA.items() if kind == pl.Int64]
    return counted.select(
        pl.col(name).fill_null(0) if name in numbers else pl.col(name).fill_null([]) for name in _SCHEMA
    ).sort("receipt")


def _counted(fresh: pl.DataFrame, runs: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """The new receipts that meet earlier runs in force."""
    met = _meetings(fresh, runs)
    successors = _with_predecessors(fresh, runs, kind)
    in_met_series = fresh.join(met.select("receipt", *SERIES), on=["receipt", *SERIES], how="semi")
    sizes = in_met_series.group_by("receipt").agg(pl.len().alias("runs"))
    mended = successors.group_by("receipt").agg(
        pl.col("sheet_row").n_unique().alias("mended"), pl.struct("row_before").n_unique().alias("left_for")
    )
    totals = met.group_by("receipt").agg(
        pl.col("kept").sum(), pl.col("left").sum(), pl.col("dates").explode().unique().sort()
    )
    counted = totals.join(sizes, on="receipt").join(mended, on="receipt", how="left").fill_null(0)
    return counted.select(
        "receipt",
        pl.col("mended").cast(pl.Int64),
        (pl.col("runs").cast(pl.Int64) - pl.col("mended").cast(pl.Int64)).alias("added"),
        pl.col("kept").cast(pl.Int64),
        (pl.col("left").cast(pl.Int64) - pl.col("left_for").cast(pl.Int64)).clip(0).alias("gone"),
        "dates",
    )


def _replaced(fresh: pl.DataFrame, ranked: pl.DataFrame) -> pl.DataFrame:
    """Per new receipt: its runs whose place a sheet that counts as received later has already taken."""
    later = ranked.select(pl.col("rank").alias("gone_rank"), pl.col("received").dt.date().alias("later"))
    return (
        fresh.drop_nulls("gone_rank")
        .join(later, on="gone_rank")
        .group_by("receipt")
        .agg(pl.len().cast(pl.Int64).alias("replaced"), pl.col("later").unique().sort().alias("replaced_by"))
    )


_SCHEMA: dict[str, pl.DataType | type[pl.DataType]] = {
    "receipt": pl.Int64,
    "mended": pl.Int64,
    "added": pl.Int64,
    "kept": pl.Int64,
    "gone": pl.Int64,
    "dates": pl.List(pl.Date),
    "replaced": pl.Int64,
    "replaced_by": pl.List(pl.Date),
}


def _meetings(fresh: pl.DataFrame, runs: pl.DataFrame) -> pl.DataFrame:
    """Per new receipt and series: earlier runs in force just before it that stay (kept) or leave (left)."""
    heads = fresh.select("receipt", *SERIES, "rank").unique()
    earlier = runs.filter(~pl.col("withdrawn")).select(*SERIES, "rank", "gone_rank", "received")
    met = heads.join(earlier, on=SERIES, how="inner", suffix="_before").filter(
        (pl.col("rank_before") < pl.col("rank"))
        & (pl.col("gone_rank").is_null() | (pl.col("gone_rank") >= pl.col("rank")))
    )
    leaves = pl.col("gone_rank").fill_null(-1) == pl.col("rank")
    return met.group_by("receipt", *SERIES).agg(
        (~leaves).sum().alias("kept"),
        leaves.sum().alias("left"),
        pl.col("received").dt.date().unique().alias("dates"),
    )


def _with_predecessors(fresh: pl.DataFrame, runs: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """Pairs of a new run and an earlier run in force that it takes the place of."""
    place = exact_keys(kind)
    before = runs.filter(~pl.col("withdrawn") & pl.col("gone_rank").is_not_null()).select(
        *place,
        pl.col("gone_rank"),
        pl.col(place_shares(kind)).name.suffix("_before"),
        pl.struct("receipt", "sheet_row").alias("row_before"),
    )
    return fresh.join(before, left_on=[*place, "rank"], right_on=[*place, "gone_rank"], how="inner").filter(
        shares_agree(kind, "_before")
    )


def mending_sentence(counts: Mapping[str, Any], whole_series: bool) -> str:
    """The advice line: "mended 1, added 2, kept 11 from the sheet of 2026-03-14"; and behind it what of the sheet
    does not count, since a later one has its place."""
    said = []
    if counts["dates"]:
        line = f"mended {counts['mended']}, added {counts['added']}, kept {counts['kept']} from {_sheets(counts['dates'])}"
        if whole_series and counts["gone"]:
            line += f"; {counts['gone']} more from it left with the whole series"
        said.append(line)
    if replaced := counts["replaced"]:
        have = "run of this sheet has" if replaced == 1 else "runs of this sheet have"
        said.append(f"{replaced} {have} been replaced already, by {_sheets(counts['replaced_by'])}")
    return "; ".join(said)


def _sheets(days: Sequence[date]) -> str:
    named = ", ".join(map(str, days))
    return f"the sheet of {named}" if len(days) == 1 else f"the sheets of {named}"

"""Which runs an answer rests on: fresh or settled pours, moist starts, no aged or planted pots. Frames in and out."""

from __future__ import annotations

import numpy as np
import polars as pl

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.contrasts.cells import Cells, SingleRuns
from pipeline.compare.contrasts.independence import Ties
from pipeline.compare.contrasts.shares import merged_shares
from schemas.trade.headline import SETTLED_POUR, in_headline
from schemas.trade.shares import same_share

MEMBERS_FOR_A_LATER_POUR = 4


def with_codes(runs: pl.DataFrame) -> pl.DataFrame:
    """Runs with `member_code` and `series_code` (0, 1 … in the order of their keys) and `in_headline`.

    `in_headline`: no reason of `schemas.trade.headline` holds.
    """
    pair = pl.struct("member_key", "series_key")
    return runs.sort("member_key", "series_key", "component_share", "pot_no", "pour_no").with_columns(
        (pl.col("member_key").rank("dense") - 1).cast(pl.Int64).alias("member_code"),
        (pair.rle_id()).cast(pl.Int64).alias("series_code"),
        in_headline().alias("in_headline"),
    )


def of_component(runs: pl.DataFrame, component: str, base: str) -> pl.DataFrame:
    """All runs of one component in one base, with `merged`, the share each counts as.

    Series with only the baseline and no component named stand by for every component: their repeats count.
    """
    named = (pl.col("component") == component) | pl.col("component").is_null()
    chosen = runs.filter(named & (pl.col("base") == base))
    merged = merged_shares(chosen["component_share"].to_numpy(), chosen["member_code"].to_numpy())
    return chosen.with_columns(pl.Series("merged", merged, dtype=pl.Float64))


def settled_pour(runs: pl.DataFrame) -> int:
    """Pour 2, else the first later pour that 4 members share (baseline and a mix both poured so often)."""
    later = runs.filter((pl.col("pour_no") >= SETTLED_POUR) & (pl.col("ended") != "ran_dry"))
    both = (
        later.group_by("pour_no", "series_code", "member_code")
        .agg((pl.col("merged") == 0).any() & (pl.col("merged") > 0).any())
        .filter(pl.col("merged"))
        .group_by("pour_no")
        .agg(pl.col("member_code").n_unique().alias("members"))
        .filter(pl.col("members") >= MEMBERS_FOR_A_LATER_POUR)
        .sort("pour_no")
    )
    return int(both["pour_no"][0]) if both.height else SETTLED_POUR


def cells_of(runs: pl.DataFrame, stopwatch_step_s: float) -> Cells:
    """Cells of these runs of one pour state, sorted by series and share; runs that ran dry are left out."""
    timed = pl.col("ended") == "reached"
    log_rate = pl.when(timed).then(pl.col("rate_ml_min_l").log())
    floor = pl.when(timed).then((stopwatch_step_s / pl.col("drain_time_s")) ** 2 / 12.0)
    share = pl.col("component_share")
    new_cell = (~same_share(share.diff())).fill_null(True) | (pl.col("series_code").diff() != 0).fill_null(
        True
    )
    table = (
        runs.filter(pl.col("ended") != "ran_dry")
        .sort("series_code", "component_share", "pot_no", "pour_no")
        .with_columns(log_rate.alias("log_rate"), floor.alias("floor"), new_cell.cum_sum().alias("cell"))
        .group_by("cell", maintain_order=True)
        .agg(
            pl.col("member_code").first(),
            pl.col("series_code").first(),
            share.first(),
            pl.col("merged").first(),
            pl.col("log_rate").count().cast(pl.Int64).alias("pots"),
            pl.col("log_rate").mean().alias("mean"),
            ((pl.col("log_rate") - pl.col("log_rate").mean()) ** 2).sum().alias("sum_squares"),
            pl.col("floor").mean(),
            (pl.col("ended") == "stopped").sum().cast(pl.Int64).alias("stopped"),
        )
    )
    return Cells(
        member=_whole(table, "member_code"),
        series=_whole(table, "series_code"),
        share=_floats(table, "component_share"),
        merged=_floats(table, "merged"),
        pots=_whole(table, "pots"),
        mean=_floats(table, "mean"),
        sum_squares=_floats(table, "sum_squares"),
        floor=_floats(table, "floor"),
        stopped=_whole(table, "stopped"),
    )


def single_runs(runs: pl.DataFrame) -> SingleRuns:
    """Runs of one pour state one by one, stopped ones with the rate that bounds theirs from above."""
    table = runs.filter(pl.col("ended") != "ran_dry").with_columns(
        pl.col("rate_ml_min_l").log().alias("log_rate")
    )
    return SingleRuns(
        member=_whole(table, "member_code"),
        series=_whole(table, "series_code"),
        share=_floats(table, "merged"),
        log_rate=_floats(table, "log_rate"),
        stopped=(table["ended"] == "stopped").to_numpy(),
    )


def _whole(table: pl.DataFrame, name: str) -> Whole:
    return table[name].cast(pl.Int64).to_numpy().astype(np.int64)


def _floats(table: pl.DataFrame, name: str) -> Floats:
    return table[name].cast(pl.Float64).fill_null(0.0).to_numpy().astype(np.float64)


def ran_dry_counts(runs: pl.DataFrame) -> dict[float, int]:
    """Runs by share that ended before the stated part was out."""
    dry = runs.filter(pl.col("ended") == "ran_dry").group_by("merged").len().sort("merged")
    return {float(share): int(count) for share, count in dry.iter_rows()}


def ties_of(runs: pl.DataFrame) -> Ties:
    """What members share: clubs, rounds within a club, lots of base and of component."""
    club, lower = pl.col("club").str.to_lowercase(), pl.col
    return Ties(
        clubs=_codes(runs, club),
        rounds=_codes(runs, pl.concat_str(club, lower("round").str.to_lowercase(), separator="\t")),
        lots=_merged(
            _codes(runs, pl.concat_str(pl.lit("base\t"), lower("peat_lot").str.to_lowercase())),
            _codes(runs, pl.concat_str(pl.lit("component\t"), lower("component_lot").str.to_lowercase())),
        ),
    )


def _codes(runs: pl.DataFrame, code: pl.Expr) -> dict[int, frozenset[str]]:
    table = runs.select("member_code", code.alias("code")).drop_nulls().unique().sort("member_code", "code")
    codes_of: dict[int, set[str]] = {}
    for member, value in table.iter_rows():
        codes_of.setdefault(int(member), set()).add(str(value))
    return {member: frozenset(values) for member, values in codes_of.items()}


def _merged(first: dict[int, frozenset[str]], second: dict[int, frozenset[str]]) -> dict[int, frozenset[str]]:
    return {
        member: first.get(member, frozenset()) | second.get(member, frozenset())
        for member in {*first, *second}
    }

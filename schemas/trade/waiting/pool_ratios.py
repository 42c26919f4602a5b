"""What a pool gives between its mixes, by middles alone: for asking whether a single run is far off, never for an answer.

A median polish: series against mixes, on the ln scale of the front speed, so that a wrong entry moves nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import polars as pl

from schemas.trade.flow import front_speed_cm_s
from schemas.trade.headline import FRESH_POUR, start_of_pour

FEWEST_MEMBERS = 3
"""Members whose middle is a ratio of the pool."""
PASSES = 3
SHARE_STEP = 5.0
"""Shares are put together by steps of 5 points."""
MIX = ["pool", "state", "step"]


def timed_runs(runs: pl.DataFrame, apart: Sequence[str] = ()) -> pl.DataFrame:
    """The runs that reached their volume: row (position in the frame), pool and series (numbered), member, state, step of
    share, speed (ln front speed, cm/s), and share, collected_ml and drain_time_s as they are. A stopped clock is slow by
    its own word.

    runs: canonical columns. apart: columns whose values never meet, such as the file of a sheet checked alone."""
    dry = start_of_pour() == "dry"
    state = pl.when(pl.col("pour_no") > FRESH_POUR).then(pl.lit("poured before"))
    numbered = runs.with_columns(row=pl.int_range(pl.len(), dtype=pl.Int64)).filter(
        pl.col("ended") == "reached"
    )
    for name, keys in (("pool", ["component", "base"]), ("series", ["member_key", "series_key"])):
        numbered = _numbered(numbered, name, [*apart, *keys])
    return (
        numbered.select(
            "row",
            "pool",
            "series",
            pl.col("member_key").alias("member"),
            state.otherwise(pl.when(dry).then(pl.lit("dry")).otherwise(pl.lit("fresh"))).alias("state"),
            (pl.col("component_share") / SHARE_STEP).round().cast(pl.Int64).alias("step"),
            pl.col("component_share").alias("share"),
            front_speed_cm_s().log().alias("speed"),
            "collected_ml",
            "drain_time_s",
        )
        .filter(pl.col("speed").is_finite())
        .sort("row")
    )


def _numbered(rows: pl.DataFrame, name: str, keys: Sequence[str]) -> pl.DataFrame:
    """The rows with a number for each combination of the keys under `name`, in place of any column of that name."""
    numbers = rows.select(keys).unique().sort(keys, nulls_last=True)
    numbers = numbers.with_columns(pl.int_range(pl.len(), dtype=pl.Int64).alias(name))
    return rows.drop(name, strict=False).join(numbers, on=keys, how="left", nulls_equal=True)


def with_levels(timed: pl.DataFrame) -> pl.DataFrame:
    """The timed runs with `ratio` (ln, between the pool's mixes; only differences mean something), null where fewer than
    3 members measured and no neighbours are known; `level`, the speed less that ratio; and `usual`, the middle of the
    pool's levels, null from fewer than 3 members."""
    ratios = _ratios(timed)
    levelled = timed.join(ratios, on=MIX, how="left").with_columns(
        level=pl.col("speed") - pl.col("ratio").fill_null(0.0)
    )
    by_series = levelled.group_by("pool", "member", "series").agg(pl.col("level").median())
    by_member = by_series.group_by("pool", "member").agg(pl.col("level").median())
    usual = by_member.group_by("pool").agg(
        pl.when(pl.len() >= FEWEST_MEMBERS).then(pl.col("level").median()).alias("usual")
    )
    return levelled.join(usual, on="pool", how="left").sort("row")


def _ratios(timed: pl.DataFrame) -> pl.DataFrame:
    """pool, state, step, ratio."""
    cells = timed.group_by("pool", "series", "member", "state", "step").agg(pl.col("speed").median())
    ratios = cells.select(MIX).unique().with_columns(ratio=pl.lit(0.0))
    for _ in range(PASSES):
        level = (pl.col("speed") - pl.col("ratio")).median().over("pool", "series")
        ratios = (
            cells.join(ratios, on=MIX)
            .with_columns(level=level)
            .group_by(*MIX, "member")
            .agg((pl.col("speed") - pl.col("level")).median().alias("ratio"))
            .group_by(MIX)
            .agg(pl.col("ratio").median())
        )
    members = cells.group_by(MIX).agg(pl.col("member").n_unique().alias("members"))
    mixes = ratios.join(members, on=MIX).sort(MIX)
    known = {
        (pool, state, step): ratio
        for pool, state, step, ratio, count in mixes.iter_rows()
        if count >= FEWEST_MEMBERS
    }
    lines = _lines(known)
    values = [
        known.get((pool, state, step), on_line(lines.get(pool, ()), step))
        for pool, state, step in mixes.select(MIX).iter_rows()
    ]
    return mixes.select(MIX).with_columns(pl.Series("ratio", values, dtype=pl.Float64))


def _lines(known: Mapping[tuple[int, str, int], float]) -> dict[int, list[tuple[int, float]]]:
    """Per pool the known ratios of freshly filled pots, by rising share."""
    lines: dict[int, list[tuple[int, float]]] = {}
    for (pool, state, step), ratio in sorted(known.items()):
        if state == "fresh":
            lines.setdefault(pool, []).append((step, ratio))
    return lines


def on_line(line: Sequence[tuple[int, float]], step: int) -> float | None:
    """The ratio at a step, straight between its neighbours and level beyond the ends; None from fewer than two known."""
    if len(line) < 2:
        return None
    if step <= line[0][0] or step >= line[-1][0]:
        return line[0][1] if step <= line[0][0] else line[-1][1]
    place = next(place for place, (right, _) in enumerate(line) if right >= step)
    (left, low), (right, high) = line[place - 1], line[place]
    return low + (high - low) * (step - left) / (right - left)

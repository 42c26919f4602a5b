"""The pool by level: each series' effect with its levels, each grower's ratio per level, and the averages of levels."""

from __future__ import annotations

import polars as pl

from schemas.trade.levels import (
    ANY,
    ORDER,
    OWN_PART,
    SERIES,
    SPLITS,
    level_columns,
    own_part_level,
    wet_start,
)
from schemas.trade.small_numbers import FEWEST_MEMBERS

GROWER_RATIOS = {
    "component": pl.String(), "kind": pl.String(), "level": pl.String(), "share": pl.Float64(), "member": pl.String(),
    "ratio": pl.Float64(), "series": pl.UInt32(),
}  # fmt: skip
AVERAGES = {
    "component": pl.String(), "kind": pl.String(), "level": pl.String(), "share": pl.Float64(), "growers": pl.UInt32(),
    "series": pl.UInt32(), "average": pl.Float64(), "low": pl.Float64(), "high": pl.Float64(),
    "sure_low": pl.Float64(), "sure_high": pl.Float64(),
}  # fmt: skip
LEVEL = ("component", "kind", "level", "share")
SHARE_DECIMALS = 6
"""Published shares are rounded; they are one share with those of the effects within so many decimals."""


def levelled(effects: pl.DataFrame, runs: pl.DataFrame) -> pl.DataFrame:
    """Effects of fresh pots with `climate`, `pot_size`, `water` and `start` of their series beside them, component by
    component. `runs`: as the public may see them; the climate comes from there only. Empty where nothing is known."""
    if effects.is_empty() or runs.is_empty():
        return pl.DataFrame()
    starts = wet_start()
    series = runs.group_by(*SERIES).agg(
        pl.col("climate_zone").drop_nulls().first().alias("climate"),
        pl.col("water_temp_c").mean().alias("water_temp_c"),
        pl.when(starts.min() == starts.max()).then(starts.min()).alias("start"),
    )
    joined = (
        effects.filter(pl.col("state") == "fresh")
        .drop("climate_zone")
        .join(series, on=list(SERIES), how="left", maintain_order="left")
    )
    components = joined.partition_by("component", maintain_order=True)
    return pl.concat([joined.clear().with_columns(level_columns(joined.clear())), *(
        component.with_columns(level_columns(component)) for component in components
    )])  # fmt: skip


def grower_ratios(levelled: pl.DataFrame) -> pl.DataFrame:
    """One row per component, kind of split, level, share and grower: the geometric mean of that grower's series
    (`ratio`), and how many they are (`series`). `levelled`: as `levelled` gives it."""
    nothing = pl.DataFrame(schema=GROWER_RATIOS)
    if levelled.is_empty():
        return nothing
    by_level = [
        part.filter(pl.col("level").is_not_null())
        .group_by(*LEVEL, "member", maintain_order=True)
        .agg(pl.col("effect").mean().exp().alias("ratio"), pl.len().cast(pl.UInt32).alias("series"))
        .select(*GROWER_RATIOS)
        for part in _parts(levelled.with_columns(pl.col("component_share").alias("share")))
    ]
    return pl.concat([nothing, *by_level]).sort(*LEVEL, "ratio", "member")


def _parts(levelled: pl.DataFrame) -> list[pl.DataFrame]:
    """The effects once per kind of split, with `kind` and `level`; of OWN_PART once per choice that they fall under."""
    parts = [
        levelled.with_columns(pl.lit(kind).alias("kind"), pl.col(kind).cast(pl.String).alias("level"))
        for kind in SPLITS
    ]
    for climate in (pl.col("climate"), pl.lit(ANY)):
        for size in (pl.col("pot_size"), pl.lit(ANY)):
            level = pl.format(own_part_level("{}", "{}"), climate, size)
            parts.append(levelled.with_columns(pl.lit(OWN_PART).alias("kind"), level.alias("level")))
    return parts


def level_averages(ratios: pl.DataFrame, pooled: pl.DataFrame | None) -> pl.DataFrame:
    """Per component, kind, level and share: growers, series, the lowest and highest grower, and the average (from 3
    growers on) with its 95 % interval `sure_low` to `sure_high`.

    The average is the pooled ratio of `pooled` (component, kind, level, share, ratio, low, high), null where it has
    none; without `pooled` it is the geometric mean of growers, and no interval is known."""
    table = ratios.group_by(*LEVEL, maintain_order=True).agg(
        pl.len().cast(pl.UInt32).alias("growers"),
        pl.col("series").sum(),
        pl.col("ratio").log().mean().exp().alias("average"),
        pl.col("ratio").min().alias("low"),
        pl.col("ratio").max().alias("high"),
    )
    if pooled is None:
        enough = pl.col("growers") >= FEWEST_MEMBERS
        nothing = pl.lit(None, pl.Float64)
        table = table.with_columns(
            pl.when(enough).then("average").alias("average"),
            nothing.alias("sure_low"),
            nothing.alias("sure_high"),
        )
    else:
        figures = pooled.select(
            "component", "kind", "level", pl.col("share").round(SHARE_DECIMALS).alias("same_share"),
            pl.col("ratio").alias("average"), pl.col("low").alias("sure_low"), pl.col("high").alias("sure_high"),
        )  # fmt: skip
        table = (
            table.drop("average")
            .with_columns(pl.col("share").round(SHARE_DECIMALS).alias("same_share"))
            .join(figures, on=["component", "kind", "level", "same_share"], how="left", maintain_order="left")
        )
    order = pl.col("level").replace_strict(ORDER, default=len(ORDER), return_dtype=pl.Int32)
    return table.select(*AVERAGES).sort("component", "kind", order, "level", "share")

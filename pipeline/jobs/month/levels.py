"""The pool split by grade, holder, pot, water and climate: the pooled ratios of every part, for the pages."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import polars as pl

from pipeline.compare.steps import compare_part
from pipeline.settings import Settings
from schemas.trade.levels import ANY, OWN_PART, SPLITS, level_columns, own_part_level
from schemas.trade.small_numbers import coarsened

LEVELS: dict[str, type[pl.DataType] | pl.DataType] = {
    "component": pl.String(),
    "kind": pl.String(),
    "level": pl.String(),
    "share": pl.Float64(),
    "ratio": pl.Float64(),
    "low": pl.Float64(),
    "high": pl.Float64(),
    "growers": pl.Int64(),
}


def pooled_levels(runs: pl.DataFrame, components: Iterable[str], settings: Settings) -> pl.DataFrame:
    """One row per component, kind of split, level and share that three growers or more measured there; places as
    the public may see them. Kind OWN_PART has climate and pot size together, `Cfb|under 0.75 l`."""
    split = coarsened(runs).with_columns(pl.col("component_grade").alias("grade"))
    split = split.with_columns(level_columns(split))
    rows = [
        {"component": component, "kind": kind, "level": level, **line}
        for component in components
        for kind, level, part in _parts(
            split.filter(pl.col("component").is_null() | (pl.col("component") == component))
        )
        for line in compare_part(part.select(runs.columns), component, settings)
    ]
    return pl.DataFrame(rows, schema=LEVELS)


def _parts(split: pl.DataFrame) -> Iterator[tuple[str, str, pl.DataFrame]]:
    for kind in SPLITS:
        for level in sorted(split[kind].drop_nulls().unique()):
            yield kind, level, split.filter(pl.col(kind) == level)
    climates = [ANY, *sorted(split["climate"].drop_nulls().unique())]
    sizes = [ANY, *sorted(split["pot_size"].drop_nulls().unique())]
    for climate in climates:
        for size in sizes:
            part = split if climate == ANY else split.filter(pl.col("climate") == climate)
            yield (
                OWN_PART,
                own_part_level(climate, size),
                part if size == ANY else part.filter(pl.col("pot_size") == size),
            )

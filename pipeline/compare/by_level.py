"""The frame side of ratios of ratios: which level of a column each series belongs to."""

from __future__ import annotations

from typing import Any

import numpy as np
import polars as pl

from pipeline.compare.answer import connected
from pipeline.compare.independence import independence
from pipeline.compare.levels import ratio_of_ratios
from pipeline.compare.repeatability import pool_repeatability
from pipeline.compare.selection import FRESH_POUR, cells_of, of_component, ties_of
from pipeline.settings import Settings

MAIN_BASE = "sphagnum_peat"


def levels_value(
    coded: pl.DataFrame, component: str, column: str, settings: Settings
) -> list[dict[str, Any]]:
    """Lines of one component, a series' level being the first that its runs name."""
    fresh = of_component(coded, component, MAIN_BASE).filter(
        pl.col("in_headline") & (pl.col("pour_no") == FRESH_POUR)
    )
    level_of = fresh.group_by("series_code").agg(
        pl.col(column).cast(pl.String).drop_nulls().first().alias("level")
    )
    named = {int(series): str(level) for series, level in level_of.drop_nulls().iter_rows()}
    cells = cells_of(fresh.filter(pl.col("series_code").is_in(list(named))), settings.stopwatch_step_s)
    pool = pool_repeatability(
        cells.pots, cells.sum_squares, cells.share, cells.member, settings.repeatability_sd
    )
    effects = connected(cells, pool.sd)
    if not len(effects):
        return []
    names = sorted(set(named.values()))
    level = np.array([names.index(named[int(one)]) for one in effects.series], dtype=np.int64)
    return ratio_of_ratios(
        effects, level, names, independence([int(one) for one in effects.member], ties_of(fresh))
    )

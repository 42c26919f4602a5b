"""The pool by level: ratios of ratios between levels, and the pooled ratios of one level for itself."""

from __future__ import annotations

import numpy as np
import polars as pl

from pipeline.compare.contrasts.independence import independence
from pipeline.compare.contrasts.repeatability import pool_repeatability
from pipeline.compare.contrasts.selection import cells_of, of_component, ties_of
from pipeline.compare.model.design import headline_design
from pipeline.compare.model.estimate import estimate, members_at
from pipeline.compare.model.prediction import NEEDED_FOR_MEAN, predict
from pipeline.compare.splits.levels import ratio_of_ratios
from pipeline.compare.verdict.answer import connected
from pipeline.settings import Settings
from schemas.results.lines import LevelLine, PartLine
from schemas.trade.headline import FRESH_POUR, MAIN_BASE


def levels_value(coded: pl.DataFrame, component: str, column: str, settings: Settings) -> list[LevelLine]:
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
    level = np.array([names.index(named[int(series)]) for series in effects.series], dtype=np.int64)
    return ratio_of_ratios(
        effects, level, names, independence([int(member) for member in effects.member], ties_of(fresh))
    )


def part_lines(part: pl.DataFrame, component: str, settings: Settings) -> list[PartLine]:
    """The headline model on one part of the pool, fresh pots, as description only: no leave-one-out refits, no verdict.

    One line per share that three independent growers or more measured beside their own baseline: share (percent),
    ratio with its 95 % interval `low` to `high` (CR2), growers."""
    fresh = of_component(part, component, MAIN_BASE).filter(
        pl.col("in_headline") & (pl.col("pour_no") == FRESH_POUR)
    )
    cells = cells_of(fresh, settings.stopwatch_step_s)
    pool = pool_repeatability(
        cells.pots, cells.sum_squares, cells.share, cells.member, settings.repeatability_sd
    )
    effects = connected(cells, pool.sd)
    based = effects.chosen(effects.based)
    if not len(based):
        return []
    growers = independence(
        [int(member) for member in effects.member], ties_of(fresh), [int(member) for member in based.member]
    )
    design = headline_design(effects, growers)
    if members_at(design).max(initial=0) < NEEDED_FOR_MEAN or len(effects) <= design.layout.X.shape[1]:
        return []
    estimated = estimate(design)
    given = predict(estimated, pool.sd**2, settings.target_ratio)
    return [
        {
            "share": float(share),
            "ratio": float(np.exp(estimated.mean[column])),
            "low": float(np.exp(given.low[column])),
            "high": float(np.exp(given.high[column])),
            "growers": int(estimated.units[column]),
        }
        for column, share in enumerate(design.shares)
        if estimated.units[column] >= NEEDED_FOR_MEAN and np.isfinite(given.low[column] + given.high[column])
    ]

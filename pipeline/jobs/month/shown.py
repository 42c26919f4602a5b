"""Figures for the pages alone, worked out from a month's published figures and runs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.compare.behind.consistency import BEYOND_WARNING
from pipeline.compare.shown.levels import grower_ratios, level_averages, levelled
from pipeline.compare.shown.ranges import average_range, pot_ratios, series_range
from pipeline.compare.shown.runs import TWO_POTS, rates_by_year, straight_rate, two_pots_within
from pipeline.compare.shown.weights import OWN_WEIGHTS, own_weights
from reports.answer import COVERAGES, DOTS, FRESH, SETTLED, Answer, Redrawn, RedrawnShares, Share, answers
from reports.view import SAME_SHARE, Shown, Spread
from schemas.results.whole import ResultsValue
from schemas.trade.headline import FRESH_POUR, MAIN_BASE, SETTLED_POUR
from schemas.trade.pots import StandardPot, straight_minutes

NINETEEN_IN_TWENTY = 1.96
"""Half width, in standard deviations, of the middle 95 % of a normal spread."""


@dataclass(frozen=True)
class MonthFrames:
    """`effects`, `members`: the comparison's frames. `runs`: as everyone may see them. `pooled`: pooled ratios by
    component, kind of split, level and share (ratio, low, high); None where a month has none."""

    effects: pl.DataFrame
    members: pl.DataFrame
    runs: pl.DataFrame
    pooled: pl.DataFrame | None = None


def shown(results: ResultsValue, frames: MonthFrames) -> Shown:
    """`results`: the value of `results.json`."""
    known = answers(results)
    by_level = levelled(frames.effects, frames.runs)
    ratios = grower_ratios(by_level)
    return Shown(
        redrawn=redrawn_shares(known),
        own_weights=weights_of(known, frames.members),
        two_pots=two_pots_within(frames.runs),
        standard_pots={
            state: standard_pot(frames.runs, results["settings"], pour)
            for state, pour in ((FRESH, FRESH_POUR), (SETTLED, settled_pour(known)))
        },
        spreads={answer.component: spread_of(answer) for answer in known},
        levelled=by_level,
        grower_ratios=ratios,
        level_averages=level_averages(ratios, frames.pooled),
        rates_by_year=rates_by_year(frames.runs),
        unlike_by_luck=BEYOND_WARNING,
    )


def redrawn_shares(known: list[Answer]) -> RedrawnShares:
    """Other ranges of every share with pooled figures."""
    return {
        (answer.component, table.name, row.share): redrawn
        for answer in known
        for table in answer.tables
        for row in table.shares
        if (redrawn := _redrawn(row)) is not None
    }


def _redrawn(row: Share) -> Redrawn | None:
    if row.ratio is None:
        return None
    places = [(number + 0.5) / DOTS for number in range(DOTS)]
    ratio, ci = row.ratio, row.ci
    return Redrawn(
        new_series={level: series_range(ratio, row.new_series, row.df, level) for level in COVERAGES},
        average={level: average_range(ratio, ci, level) for level in COVERAGES} if ci is not None else {},
        pot_ratios=pot_ratios(ratio, row.new_series, row.df, row.repeatability_sd, places),
    )


def weights_of(known: list[Answer], members: pl.DataFrame) -> pl.DataFrame:
    """What each grower's tests did to the average of every share, in the pour state whose answer it is."""
    frames = [
        own_weights(at_share, row.ratio, row.ci, table.sd_member, table.sd_series).select(
            pl.lit(answer.component).alias("component"), pl.lit(row.share).alias("component_share"), pl.all()
        )
        for answer in known
        for table in [answer.overall.deciding_table]
        for row in table.shares
        for at_share in [
            members.filter(
                (pl.col("component") == answer.component)
                & (pl.col("state") == answer.overall.recommendation.state)
                & ((pl.col("component_share") - row.share).abs() < SAME_SHARE)
            )
        ]
    ]
    nothing = pl.DataFrame(schema={"component": pl.String, "component_share": pl.Float64, **OWN_WEIGHTS})
    return pl.concat([nothing, *frames])


def settled_pour(known: list[Answer]) -> int:
    """The pour that stands for settled pots, of the component with the most growers."""
    settled = known[0].settled if known else None
    return settled.pour if settled is not None else SETTLED_POUR


def standard_pot(runs: pl.DataFrame, settings: Mapping[str, Any], pour: int = FRESH_POUR) -> StandardPot:
    """Minutes of straight peat in the pool's standard pot, at one pour; None where nobody has timed it."""
    volume_l = float(settings["standard_pot_volume_l"])
    collected_ml = float(settings["standard_collected_ml"])
    rate_ml_min_l, members = straight_rate(runs, MAIN_BASE, pour)
    minutes = None if rate_ml_min_l is None else straight_minutes(rate_ml_min_l, volume_l, collected_ml)
    return StandardPot(volume_l, collected_ml, minutes, members)


def spread_of(answer: Answer) -> Spread:
    """How far apart growers' series and single pots of a component lie."""
    known = [sd for sd in (answer.overall.sd_member, answer.overall.sd_series) if sd is not None]
    cv_pot = answer.overall.cv_pot
    return Spread(
        nineteen_in_twenty=math.exp(NINETEEN_IN_TWENTY * math.hypot(*known)) if len(known) == 2 else None,
        two_pots=math.exp(TWO_POTS * math.sqrt(math.log1p(cv_pot**2))) if cv_pot is not None else None,
    )

"""Rules that each row is asked alone, across its columns: do its numbers and words go together."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import polars as pl

from pipeline.check.findings import RowRule, cell
from pipeline.check.numbers import figures
from schemas.trade.headline import HEADLINE_PART

SLACK = 1e-9
"""Room for the rounding of unit conversions: 40 % typed in cups is still 40 %."""


def fitting_rules(today: date, days: Sequence[str]) -> tuple[RowRule, ...]:
    """The rules that need no setting; `today` is the day (UTC) after which no test can have been made,
    `days` names the columns of days."""
    return (*(_in_future(today, day) for day in days), *_volumes(), *_mix(), *_ending())


def part_outside_headline() -> pl.Expr:
    """True where `collected` is outside the part of `poured` that the headline compares, both ends included."""
    low, high = HEADLINE_PART
    part = pl.col("collected_ml") / pl.col("poured_ml")
    return (part < low - SLACK) | (part > high + SLACK)


def _in_future(today: date, day: str) -> RowRule:
    return RowRule(
        "tested_in_future",
        day,
        pl.col(day) > pl.lit(today),
        {"read": pl.col(day).cast(pl.String)},
    )


def _volumes() -> tuple[RowRule, ...]:
    over = pl.col("collected_ml") > pl.col("poured_ml") * (1 + SLACK)
    return (
        RowRule(
            "collected_over_poured",
            "collected",
            over,
            {
                "collected": figures("collected_ml"),
                "poured": figures("poured_ml"),
                "poured_cell": cell("poured"),
            },
        ),
        RowRule(
            "part_marked",
            "collected",
            part_outside_headline() & ~over,
            {"part": figures(100 * pl.col("collected_ml") / pl.col("poured_ml"), 3)},
        ),
    )


def _mix() -> tuple[RowRule, ...]:
    share = {"share": figures("component_share")}
    mixed = pl.col("component_share") > 0
    low, high = pl.col("component_min_size_mm"), pl.col("component_max_size_mm")
    return (
        RowRule("component_blank", "component", mixed & cell("component").is_null(), share),
        RowRule("grade_blank", "component_grade", mixed & cell("component_grade").is_null(), share),
        RowRule(
            "grain_sizes_swapped",
            "component_min_size",
            low > high * (1 + SLACK),
            {"low": figures(low), "high": figures(high), "high_cell": cell("component_max_size")},
        ),
        RowRule(
            "setup_not_described", "setup_type", (pl.col("setup_type") == "other") & cell("notes").is_null()
        ),
        RowRule("start_moisture_blank", "start_moisture", cell("start_moisture").is_null()),
    )


def _ending() -> tuple[RowRule, ...]:
    dry = pl.col("ended") == "ran_dry"
    over = (pl.col("came_out_ml") > pl.col("collected_ml") * (1 + SLACK)).fill_null(False)
    return (
        RowRule("ran_dry", "ended", dry & ~over, {"collected": figures("collected_ml")}),
        RowRule(
            "came_out_over_collected",
            "came_out",
            dry & over,
            {
                "came_out": figures("came_out_ml"),
                "collected": figures("collected_ml"),
                "collected_cell": cell("collected"),
            },
        ),
        RowRule(
            "came_out_not_used",
            "came_out",
            ~dry & cell("came_out").is_not_null() & pl.col("came_out_ml").is_not_null(),
            {"ended": pl.col("ended")},
        ),
    )

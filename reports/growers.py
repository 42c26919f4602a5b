"""One grower's figures, taken from the month's frames: what the growers page and the member pages speak of."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import polars as pl

from reports.standard_pot import fresh_runs
from reports.view import MonthView

TWO_POTS = 2.8
_SAFE_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")


@dataclass(frozen=True)
class Grower:
    """A grower by code: counts, place as published, and how far two pots of one mix lie apart."""

    member: str
    series: int
    runs: int
    climate: str
    setups: tuple[str, ...]
    two_pots_within: float | None
    replicates: int

    @property
    def page(self) -> str | None:
        """Where the grower's page lies; None for a code that can't be a file's name."""
        name = self.member.casefold()
        return f"members/{name}.html" if _SAFE_NAME.fullmatch(name) else None


def growers(view: MonthView) -> list[Grower]:
    """Every grower with runs in force, by code."""
    runs = view.runs
    if runs.is_empty():
        return []
    table = runs.group_by("member").agg(
        pl.col("series").n_unique().alias("series"),
        pl.len().alias("runs"),
        pl.col("climate_zone").drop_nulls().unique().sort().alias("climates"),
        pl.col("setup_type").unique().sort().alias("setups"),
    )
    spreads = {row[0]: row[1:] for row in _repeatability(runs).iter_rows()}
    found = []
    for row in table.sort("member").iter_rows(named=True):
        variance, freedom = spreads.get(row["member"], (None, 0))
        within = math.exp(TWO_POTS * math.sqrt(variance)) if variance is not None and freedom else None
        found.append(
            Grower(
                row["member"],
                row["series"],
                row["runs"],
                ", ".join(row["climates"]) or "not shown",
                tuple(row["setups"]),
                within,
                int(freedom or 0),
            )
        )
    return found


def _repeatability(runs: pl.DataFrame) -> pl.DataFrame:
    """Per grower the pooled variance of ln rate between fillings of one mix, and its degrees of freedom."""
    cells = (
        runs.filter(fresh_runs() & (pl.col("rate_ml_min_l") > 0))
        .group_by("member", "series", "component_share", "pot_no")
        .agg(pl.col("rate_ml_min_l").log().mean().alias("log_rate"))
        .group_by("member", "series", "component_share")
        .agg(pl.len().alias("pots"), pl.col("log_rate").var().alias("variance"))
        .filter(pl.col("pots") > 1)
    )
    weight = pl.col("pots") - 1
    return (
        cells.group_by("member")
        .agg(
            ((pl.col("variance") * weight).sum() / weight.sum()).alias("variance"),
            weight.sum().alias("freedom"),
        )
        .select("member", "variance", "freedom")
    )

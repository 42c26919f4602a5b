"""What runs alone tell: how fast straight base drains, how alike one grower's pots are, how a mix did over the years."""

from __future__ import annotations

import math

import polars as pl

from schemas.trade.headline import FRESH_POUR, fresh, in_headline

TWO_POTS = 2.8
"""Two values of one normal spread s lie within 2.8 s of each other 19 times in 20 (ISO 5725-6, from memory)."""


def straight_rate(runs: pl.DataFrame, base: str, pour: int = FRESH_POUR) -> tuple[float | None, int]:
    """Typical rate of straight `base` in ml a minute and litre, and the growers behind it: each grower's geometric mean
    of timed runs of one pour, then the geometric mean over growers, so that a busy grower counts once."""
    typical = _typical_rates(runs, base, pour)
    if typical.is_empty():
        return None, 0
    return math.exp(float(typical["log_rate"].to_numpy().mean())), typical.height


def two_pots_within(runs: pl.DataFrame) -> pl.DataFrame:
    """Per member: within how many times of each other two fillings of one mix lie, 19 times in 20 (`within`), and the
    repeated fillings behind it (`fillings`). Members who never filled a mix twice are left out."""
    return (
        _pooled_variances(runs)
        .filter(pl.col("freedom") > 0)
        .select(
            "member",
            (TWO_POTS * pl.col("variance").sqrt()).exp().alias("within"),
            pl.col("freedom").alias("fillings"),
        )
        .sort("member")
    )


def rates_by_year(runs: pl.DataFrame) -> pl.DataFrame:
    """Mixes of one series that were timed in more than one calendar year: member, series, component_share, year, the
    geometric mean of the rates (`rate_ml_min_l`) and the runs behind it (`runs`)."""
    mix = ("member", "series", "component_share")
    by_year = (
        runs.filter(pl.col("rate_ml_min_l") > 0)
        .with_columns(pl.col("tested_on").cast(pl.String).str.slice(0, 4).alias("year"))
        .group_by(*mix, "year")
        .agg(pl.col("rate_ml_min_l").log().mean().exp(), pl.len().alias("runs"))
    )
    return by_year.filter(pl.len().over(*mix) > 1).sort(*mix, "year")


def fresh_runs() -> pl.Expr:
    """Timed runs that the fresh headline rests on."""
    return in_headline() & fresh() & (pl.col("ended") == "reached")


def _typical_rates(runs: pl.DataFrame, base: str, pour: int) -> pl.DataFrame:
    if runs.is_empty():
        return pl.DataFrame(schema={"member": pl.String, "log_rate": pl.Float64})
    of_pour = in_headline() & (pl.col("pour_no") == pour) & (pl.col("ended") == "reached")
    return (
        runs.filter((pl.col("base") == base) & (pl.col("component_share") == 0) & of_pour)
        .filter(pl.col("rate_ml_min_l") > 0)
        .group_by(pl.col("member").str.to_lowercase())
        .agg(pl.col("rate_ml_min_l").log().mean().alias("log_rate"))
        .sort("member")
    )


def _pooled_variances(runs: pl.DataFrame) -> pl.DataFrame:
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

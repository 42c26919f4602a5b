"""The pool by level: each series' effect with its grade, holder, pot size, climate, water and start in plain words.

Places come from the public pool frame only, so that the small-number rule holds here too.
"""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from reports.view import MonthView
from schemas.trade.headline import fresh, start_of_pour
from schemas.trade.pots import POT_SIZES, pot_size

COLD_WATER_C = 15.0
ELSEWHERE = "other places"
SERIES = ("member", "series")
ANY = "any"
OWN_PART = "climate and pot"
FEWEST_FOR_MIDDLE = 3


ORDER: dict[str, int] = {
    level: place for place, level in enumerate(("fine", "medium", "coarse", *(size for size, _ in POT_SIZES)))
}
"""Levels with an order of their own; all others follow the alphabet, other places last."""


@dataclass(frozen=True)
class Kind:
    """One way to split the pool: its column, its question, its name in a table."""

    column: str
    question: str
    name: str


KINDS: tuple[Kind, ...] = (
    Kind("grade", "Does the grade matter?", "grade"),
    Kind("setup_type", "Does the holder matter?", "held on"),
    Kind("pot_size", "Does the pot’s size matter?", "pot"),
    Kind("water", "Does the water’s temperature matter?", "water"),
    Kind("climate", "Does the climate matter?", "climate class"),
    Kind("start", "Does the wetness at the start matter?", "start"),
)


def levelled(view: MonthView, component: str, state: str = "fresh") -> pl.DataFrame:
    """Effects of a component with `climate`, `pot_size`, `water` and `start` beside them."""
    effects = view.effects
    if effects.is_empty() or view.runs.is_empty():
        return pl.DataFrame()
    kept = effects.filter((pl.col("component") == component) & (pl.col("state") == state)).drop(
        "climate_zone"
    )
    series = view.runs.group_by("member", "series").agg(
        pl.col("climate_zone").drop_nulls().first().alias("climate"),
        pl.col("water_temp_c").mean().alias("water_temp_c"),
        _one_start(wet_start()).alias("start"),
    )
    joined = kept.join(series, on=["member", "series"], how="left")
    return joined.with_columns(level_columns(joined))


def level_columns(frame: pl.DataFrame) -> list[pl.Expr]:
    """`climate`, `pot_size`, `water` and `start` of every row in plain words, from the public climate class (column
    `climate` or `climate_zone`), the pot's volume, the mean water temperature of the series, and how wet its fresh
    pots started."""
    place = "climate" if "climate" in frame.columns else "climate_zone"
    mean = pl.col("water_temp_c").mean().over("member", "series")
    water = (
        pl.when(mean < COLD_WATER_C)
        .then(pl.lit("cold, below 15 °C"))
        .when(mean.is_not_null())
        .then(pl.lit("15 °C or warmer"))
    )
    levels = [
        pot_size(pl.col("pot_volume_ml")).alias("pot_size"),
        water.alias("water"),
        _named_where_enough(frame, place),
    ]
    if "start" in frame.columns:
        return levels
    each = wet_start()
    start = pl.when(each.min().over(*SERIES) == each.max().over(*SERIES)).then(each.min().over(*SERIES))
    return [*levels, start.alias("start")]


def wet_start() -> pl.Expr:
    """How wet a first pour started, moist or soaked; blank counts as moist, or as dry where the mix was not wetted
    before (contract, results.json). Null for a dry start, which stands in no headline, and for later pours."""
    start = start_of_pour()
    return pl.when((start != "dry") & fresh()).then(start)


def _one_start(each: pl.Expr) -> pl.Expr:
    """The start of a series whose fresh pots all started alike."""
    return pl.when(each.min() == each.max()).then(each.min())


def _named_where_enough(frame: pl.DataFrame, place: str) -> pl.Expr:
    """Climates with three growers or more by name, all others as other places."""
    counted = frame.group_by(place).agg(pl.col("member").n_unique().alias("growers"))
    named = counted.filter((pl.col("growers") >= FEWEST_FOR_MIDDLE) & (pl.col(place) != "unknown"))[
        place
    ].drop_nulls()
    climate = pl.col(place)
    return pl.when(climate.is_in(named.to_list())).then(climate).otherwise(pl.lit(ELSEWHERE)).alias("climate")


def by_grower(frame: pl.DataFrame, column: str, share: float) -> pl.DataFrame:
    """One row per grower and level at a share: the geometric mean of that grower's series."""
    return (
        frame.filter(((pl.col("component_share") - share).abs() < 1e-6) & pl.col(column).is_not_null())
        .group_by(pl.col(column).alias("level"), "member")
        .agg(pl.col("effect").mean().exp().alias("ratio"), pl.len().alias("series"))
        .sort("level", "ratio", "member")
    )


def middles(growers: pl.DataFrame) -> pl.DataFrame:
    """Per level: growers, series, the middle of growers (geometric mean; from 3 growers on), lowest, highest."""
    return (
        growers.group_by("level")
        .agg(
            pl.len().alias("growers"),
            pl.col("series").sum(),
            pl.col("ratio").log().mean().exp().alias("middle"),
            pl.col("ratio").min().alias("low"),
            pl.col("ratio").max().alias("high"),
        )
        .with_columns(pl.when(pl.col("growers") >= FEWEST_FOR_MIDDLE).then(pl.col("middle")).alias("middle"))
        .sort(pl.col("level").replace_strict(ORDER, default=99, return_dtype=pl.Int32), "level")
    )


def with_pooled(
    middles: pl.DataFrame, pooled: pl.DataFrame | None, component: str, kind: str, share: float
) -> pl.DataFrame:
    """The levels with their pooled ratio in place of the plain middle, and its range `sure_low` to `sure_high`
    (null where fewer than three growers stand behind it). Without pooled figures the plain middle stays."""
    if pooled is None:
        return middles.with_columns(
            pl.lit(None, pl.Float64).alias("sure_low"), pl.lit(None, pl.Float64).alias("sure_high")
        )
    here = pooled.filter(
        (pl.col("component") == component)
        & (pl.col("kind") == kind)
        & ((pl.col("share") - share).abs() < 1e-6)
    )
    figures = here.select(
        "level",
        pl.col("ratio").alias("middle"),
        pl.col("low").alias("sure_low"),
        pl.col("high").alias("sure_high"),
    )
    return middles.drop("middle").join(figures, on="level", how="left", maintain_order="left")

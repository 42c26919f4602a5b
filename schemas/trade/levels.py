"""The levels that pages split the pool by: grade, holder, pot size, water, climate and wetness at the start.

Column expressions over runs or effects as the public may see them, so that the small-number rule holds here too.
"""

from __future__ import annotations

import polars as pl

from schemas.trade.headline import fresh, start_of_pour
from schemas.trade.pots import POT_SIZES, pot_size
from schemas.trade.small_numbers import FEWEST_MEMBERS

COLD_WATER_C = 15.0
ELSEWHERE = "other places"
SERIES = ("member", "series")

SPLITS = ("grade", "setup_type", "pot_size", "water", "climate", "start")
"""Columns that split the pool by one thing at a time."""
OWN_PART = "climate and pot"
"""The split by climate and pot size together; its levels are `own_part_level`."""
ANY = "any"

ORDER: dict[str, int] = {
    level: place for place, level in enumerate(("fine", "medium", "coarse", *(size for size, _ in POT_SIZES)))
}
"""Levels with an order of their own; all others follow the alphabet behind them."""


def own_part_level(climate: str, pot_size: str) -> str:
    """The level of OWN_PART for a climate class and a pot size, or ANY of them: `Cfb|under 0.75 l`."""
    return f"{climate}|{pot_size}"


def level_columns(frame: pl.DataFrame) -> list[pl.Expr]:
    """`climate`, `pot_size`, `water` and `start` of every row in plain words, from the public climate class (column
    `climate` or `climate_zone`), the pot's volume, the mean water temperature of the series, and how wet its fresh
    pots started."""
    place = "climate" if "climate" in frame.columns else "climate_zone"
    mean = pl.col("water_temp_c").mean().over(*SERIES)
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
    starts = wet_start()
    first, last = starts.min().over(*SERIES), starts.max().over(*SERIES)
    return [*levels, pl.when(first == last).then(first).alias("start")]


def wet_start() -> pl.Expr:
    """How wet a first pour started, moist or soaked; blank counts as moist, or as dry where the mix was not wetted
    before (contract, results.json). Null for a dry start, which stands in no headline, and for later pours."""
    start = start_of_pour()
    return pl.when((start != "dry") & fresh()).then(start)


def _named_where_enough(frame: pl.DataFrame, place: str) -> pl.Expr:
    """Climates with three growers or more by name, all others as other places."""
    counted = frame.group_by(place).agg(pl.col("member").n_unique().alias("growers"))
    named = counted.filter((pl.col("growers") >= FEWEST_MEMBERS) & (pl.col(place) != "unknown"))
    climate = pl.col(place)
    known = named[place].drop_nulls().to_list()
    return pl.when(climate.is_in(known)).then(climate).otherwise(pl.lit(ELSEWHERE)).alias("climate")

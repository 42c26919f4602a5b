"""Rates beside the runs: four columns that make pots of different size and water comparable.

runs (canonical run frame)
  -> rate_ml_min_l         water through, per minute and litre of mix
  -> front_speed_cm_s      water through, per second and area of mix
  -> conductivity_cm_s     falling head, where the three inside lengths are known
  -> rate_20c_ml_min_l     the rate, had the water been at 20 °C, where its temperature is known
"""

from __future__ import annotations

import polars as pl

from schemas.trade.flow import conductivity_cm_s, factor_to_20c, front_speed_cm_s, rate_ml_min_l

RATE_COLUMNS = ("rate_ml_min_l", "front_speed_cm_s", "conductivity_cm_s", "rate_20c_ml_min_l")


def add_rates(runs: pl.DataFrame) -> pl.DataFrame:
    """The run frame with the four columns of `RATE_COLUMNS` behind it; nothing else is changed.

    All four are null where the run ran dry (the mix kept the water: there is no time to divide by).
    Where the clock was stopped while the pot still dripped, the time is a lower bound, so all four are
    upper bounds: whoever uses them looks at `ended`. The 20 °C column is a view; the rate as measured
    always stays beside it.
    """
    timed = pl.col("ended") != "ran_dry"
    rated = runs.with_columns(
        pl.when(timed).then(rate_ml_min_l()).alias("rate_ml_min_l"),
        pl.when(timed).then(front_speed_cm_s()).alias("front_speed_cm_s"),
        pl.when(timed).then(conductivity_cm_s()).alias("conductivity_cm_s"),
    )
    return rated.with_columns(
        (pl.col("rate_ml_min_l") * factor_to_20c(pl.col("water_temp_c"))).alias("rate_20c_ml_min_l")
    )

"""Two series that are equal in every measured value under another label or code: the later one is asked about.

Rule: the project's contract, section 1 ("Waiting").
"""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

FEWEST_RUNS = 3
MEASURED = (
    "component",
    "component_share",
    "pour_no",
    "ended",
    "drain_time_s",
    "pot_volume_ml",
    "poured_ml",
    "collected_ml",
    "came_out_ml",
    "water_temp_c",
)
DIGITS = 9

EQUAL_SERIES = {"row": pl.Int64, "earlier_member": pl.String, "earlier_series": pl.String}
"""row: position of a run of the later series; earlier_member, earlier_series: the one that it equals, as typed there."""


def equal_series(runs: pl.DataFrame, order: str, apart: Sequence[str] = ()) -> pl.DataFrame:
    """The runs (`EQUAL_SERIES`) of each series of 3 or more that an earlier one equals in every measured value.

    runs: canonical columns, and `order`: the rank of their sheet. apart: columns whose values never meet."""
    keys = [*apart, "member_key", "series_key"]
    numbers = [name for name in MEASURED if runs.schema[name] == pl.Float64]
    rows = runs.with_columns(
        pl.int_range(pl.len(), dtype=pl.Int64).alias("row"),
        *(pl.col(name).round_sig_figs(DIGITS) for name in numbers),
    )
    sizes = [pl.len().alias("runs"), *(pl.col(name).median().alias(f"middle_{name}") for name in numbers)]
    series = rows.group_by(keys).agg(
        *sizes, pl.col(order).min().alias("first"), pl.col("sheet_row").min().alias("first_row")
    )
    rough = [*apart, "runs", *(f"middle_{name}" for name in numbers)]
    alike = series.filter(pl.col("runs") >= FEWEST_RUNS, pl.len().over(rough) > 1)
    if alike.is_empty():
        return pl.DataFrame(schema=EQUAL_SERIES)
    values = (
        rows.join(alike.select(*keys, "first", "first_row"), on=keys, nulls_equal=True)
        .sort(*MEASURED, "row")
        .group_by([*keys, "first", "first_row"], maintain_order=True)
        .agg(*MEASURED, "row", pl.col("member", "series").first())
        .sort("first", "first_row", *keys)
    )
    whole = [*apart, *MEASURED]
    later = values.with_columns(
        pl.col("member", "series").first().over(whole).name.prefix("earlier_"),
        pl.int_range(pl.len()).over(whole).alias("place"),
    ).filter(pl.col("place") > 0)
    return later.explode("row").select(list(EQUAL_SERIES)).sort("row")

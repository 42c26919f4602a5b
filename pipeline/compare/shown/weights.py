"""What each grower's tests did to the pooled average: how much of it they carry, and how much wider its range would be.

Inverse-variance weights of the growers at one share, with the pool's spread between growers and series (Hedges & Olkin
1985, chapter 9): a part w of the weight narrows the interval by the square root of 1 - w. A quick estimate; the average
is held still, so that nothing is told of whom a verdict hangs on.
"""

from __future__ import annotations

import math

import polars as pl

from pipeline.compare.shown.ranges import Range

HALF_OF_95 = 1.959964
FEWEST = 4
OWN_WEIGHTS = {"member": pl.String(), "part": pl.Float64(), "low": pl.Float64(), "high": pl.Float64()}


def own_weights(
    members: pl.DataFrame,
    ratio: float | None,
    ci: Range | None,
    sd_member: float | None,
    sd_series: float | None,
) -> pl.DataFrame:
    """Per member: `part` of the average (0-1), and the range `low` to `high` that the average would have without that
    member's tests. `members`: the members frame at one share; `sd_member`, `sd_series` on ln. Empty under four growers,
    or where a figure is missing."""
    nothing = pl.DataFrame(schema=OWN_WEIGHTS)
    known = members.drop_nulls(["ratio_low", "ratio_high"]).filter(pl.col("ratio_low") > 0)
    if sd_member is None or sd_series is None or ci is None or ratio is None or known.height < FEWEST:
        return nothing
    half = (pl.col("ratio_high").log() - pl.col("ratio_low").log()) / (2 * HALF_OF_95)
    weight = 1 / (sd_member**2 + sd_series**2 / pl.col("series") + half**2)
    each = known.select("member", weight.alias("weight"), (weight / weight.sum()).alias("each"))
    part = (
        each.group_by("member")
        .agg(pl.col("each").sum().alias("part"))
        .filter(pl.col("part") > 0)
        .sort("member")
    )
    centre, (low, high) = math.log(ratio), (math.log(end) for end in ci)
    wider = 1 / (1 - pl.col("part")).sqrt()
    return part.with_columns(
        (centre + wider * (low - centre)).exp().alias("low"),
        (centre + wider * (high - centre)).exp().alias("high"),
    )

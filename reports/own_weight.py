"""What a grower's tests did to the pooled average: how much of it they carry, and how much wider its range would be.

Inverse-variance weights of the growers at one share, with the pool's spread between growers and series (Hedges & Olkin
1985, chapter 9): a share w of the weight narrows the interval by the square root of 1 - w. A quick estimate; the average
is held still, so that nothing is told of whom a verdict hangs on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import polars as pl

from reports.answer import Share, Table

HALF_OF_95 = 1.959964
FEWEST = 4


@dataclass(frozen=True)
class OwnWeight:
    """At one share: part of the average (0-1), and the range that the average would have without these tests."""

    part: float
    without: tuple[float, float]


def own_weight(table: Table, row: Share, members: pl.DataFrame, member: str) -> OwnWeight | None:
    """`members`: the members frame at the row's share. None under four growers, or where a figure is missing."""
    sd_member = table.heterogeneity.get("sd_member")
    sd_series = table.heterogeneity.get("sd_series")
    known = members.drop_nulls(["ratio_low", "ratio_high"]).filter(pl.col("ratio_low") > 0)
    if sd_member is None or sd_series is None or row.ci is None or row.ratio is None or known.height < FEWEST:
        return None
    half = (pl.col("ratio_high").log() - pl.col("ratio_low").log()) / (2 * HALF_OF_95)
    weights = known.select(
        "member", (1 / (sd_member**2 + sd_series**2 / pl.col("series") + half**2)).alias("weight")
    )
    own = float(weights.filter(pl.col("member") == member)["weight"].sum())
    if not own:
        return None
    part = own / float(weights["weight"].sum())
    wider, centre = 1 / math.sqrt(1 - part), math.log(row.ratio)
    low, high = (math.exp(centre + wider * (math.log(end) - centre)) for end in row.ci)
    return OwnWeight(part, (low, high))

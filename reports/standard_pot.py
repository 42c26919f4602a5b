"""Ratios restated as minutes: how long straight base takes in the pool's standard pot.

Typical rate of straight base: each grower's geometric mean of fresh, moist, reached baseline runs, then the
geometric mean over growers, so that a busy grower counts once. Minutes = collected / (rate × pot volume).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import polars as pl

from schemas.trade.headline import fresh, in_headline
from schemas.trade.pots import area_of_volume_cm2


@dataclass(frozen=True)
class StandardPot:
    """The standard pot of the pool's settings and what straight base takes in it."""

    volume_l: float
    collected_ml: float
    straight_minutes: float | None
    members: int

    @property
    def area_cm2(self) -> float:
        """Cross-section taken for the standard pot: volume to the power 2/3, within 15 % for pots of
        5 to 30 cm (domain note on front speed)."""
        return area_of_volume_cm2(self.volume_l * 1000.0)


def standard_pot(runs: pl.DataFrame, settings: Mapping[str, Any], base: str = "sphagnum_peat") -> StandardPot:
    """Minutes of straight `base` in the standard pot; None where nobody has timed it."""
    volume_l = float(settings.get("standard_pot_volume_l", 1.0))
    collected_ml = float(settings.get("standard_collected_ml", 150.0))
    typical = _typical_rates(runs, base)
    if typical.is_empty():
        return StandardPot(volume_l, collected_ml, None, 0)
    mean_log = float(typical["log_rate"].to_numpy().mean())
    minutes = collected_ml / (math.exp(mean_log) * volume_l)
    return StandardPot(volume_l, collected_ml, minutes, typical.height)


def fresh_runs() -> pl.Expr:
    """Timed runs that the fresh headline rests on."""
    return in_headline() & fresh() & (pl.col("ended") == "reached")


def _typical_rates(runs: pl.DataFrame, base: str) -> pl.DataFrame:
    if runs.is_empty():
        return pl.DataFrame(schema={"member": pl.String, "log_rate": pl.Float64})
    return (
        runs.filter((pl.col("base") == base) & (pl.col("component_share") == 0) & fresh_runs())
        .filter(pl.col("rate_ml_min_l") > 0)
        .group_by(pl.col("member").str.to_lowercase())
        .agg(pl.col("rate_ml_min_l").log().mean().alias("log_rate"))
        .sort("member")
    )

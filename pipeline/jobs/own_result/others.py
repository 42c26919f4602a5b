"""Where an own ratio lies among those of other growers, from the readers' copy. No figure rests on fewer than 3 growers."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from pipeline.jobs.own_result.contrasts import fresh_contrasts
from pipeline.settings import Settings
from schemas.receipt import OthersBeside
from schemas.trade.shares import JOINS_WITHIN, ROUNDING

FEWEST_MEMBERS = 3


class OtherGrowers:
    """The ratios that growers of a pool found: `contrasts` as `fresh_contrasts` gives them."""

    def __init__(self, contrasts: pl.DataFrame) -> None:
        self._by_mix = {
            (str(key[0]), str(key[1])): rows
            for key, rows in contrasts.group_by("component", "base", maintain_order=True)
        }

    def beside(
        self, mix: tuple[str | None, str | None], share: float, ratio: float, member_key: str
    ) -> OthersBeside | None:
        """How many other growers measured this component in this base at this share (those within 2 points count), and
        how many of them found a smaller ratio, a grower's series averaged first. None from fewer than 3 of them."""
        contrasts = self._by_mix.get((str(mix[0]), str(mix[1])))
        if contrasts is None:
            return None
        near = (pl.col("component_share") - share).abs() <= JOINS_WITHIN + ROUNDING
        averages = (
            contrasts.filter(near, pl.col("member_key") != member_key)
            .group_by("member_key")
            .agg(pl.col("effect").mean())["effect"]
            .exp()
        )
        if len(averages) < FEWEST_MEMBERS:
            return None
        return {"members": len(averages), "less": int((averages < ratio).sum())}


def other_growers(pool: Path | None, settings: Settings) -> OtherGrowers | None:
    """What the growers of a pool found, from its readers' copy; None where there is no pool yet."""
    if pool is None:
        return None
    from pipeline.load.opening import is_pool
    from pipeline.load.reading import runs_in_force

    return OtherGrowers(fresh_contrasts(runs_in_force(pool), settings)) if is_pool(pool) else None

"""Where an own ratio lies among those of other growers, from the readers' copy. No figure rests on fewer than 3 growers."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from pipeline.jobs.own_result.contrasts import fresh_contrasts
from pipeline.settings import Settings
from schemas.receipt import OthersBeside
from schemas.trade.shares import JOINS_WITHIN, ROUNDING
from schemas.trade.small_numbers import too_few_to_show


class OtherGrowers:
    """The ratios that growers of a pool found: `contrasts` as `fresh_contrasts` gives them."""

    def __init__(self, contrasts: pl.DataFrame) -> None:
        self._by_mix = {
            (str(key[0]), str(key[1])): rows
            for key, rows in contrasts.group_by("component", "base", maintain_order=True)
        }
        self._averages: dict[tuple[str, str, float], dict[str, float]] = {}

    def beside(
        self, mix: tuple[str | None, str | None], share: float, ratio: float, member_key: str
    ) -> OthersBeside | None:
        """How many other growers measured this component in this base at this share (those within 2 points count), and
        how many of them found a smaller ratio, a grower's series averaged first. None from fewer than 3 of them."""
        averages = self._averages_at(str(mix[0]), str(mix[1]), share)
        others = [average for key, average in averages.items() if key != member_key]
        if too_few_to_show(len(others)):
            return None
        return {"members": len(others), "less": sum(average < ratio for average in others)}

    def _averages_at(self, component: str, base: str, share: float) -> dict[str, float]:
        """Each grower's average ratio near a share, worked out once: a batch of sheets asks the same many times."""
        place = (component, base, share)
        if place not in self._averages:
            contrasts = self._by_mix.get((component, base))
            near = (pl.col("component_share") - share).abs() <= JOINS_WITHIN + ROUNDING
            self._averages[place] = (
                {}
                if contrasts is None
                else dict(
                    contrasts.filter(near)
                    .group_by("member_key", maintain_order=True)
                    .agg(pl.col("effect").mean().exp())
                    .iter_rows()
                )
            )
        return self._averages[place]


def other_growers(pool: Path | None, settings: Settings) -> OtherGrowers | None:
    """What the growers of a pool found, from its readers' copy; None where there is no pool yet."""
    if pool is None:
        return None
    from pipeline.load.keeping.opening import is_pool
    from pipeline.load.views.reading import runs_in_force

    return OtherGrowers(fresh_contrasts(runs_in_force(pool), settings)) if is_pool(pool) else None

"""One grower's figures, taken from the month's frames: what the growers page and the member pages speak of."""

from __future__ import annotations

import re
from dataclasses import dataclass

import polars as pl

from reports.view import MonthView

_SAFE_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")


@dataclass(frozen=True)
class Grower:
    """A grower by code: counts, place as published, and how far two pots of one mix lie apart."""

    member: str
    series: int
    runs: int
    climate: str
    setups: tuple[str, ...]
    two_pots_within: float | None
    replicates: int

    @property
    def page(self) -> str | None:
        """Where the grower's page lies; None for a code that can't be a file's name."""
        name = self.member.casefold()
        return f"members/{name}.html" if _SAFE_NAME.fullmatch(name) else None


def growers(view: MonthView) -> list[Grower]:
    """Every grower with runs in force, by code."""
    runs = view.runs
    if runs.is_empty():
        return []
    table = runs.group_by("member").agg(
        pl.col("series").n_unique().alias("series"),
        pl.len().alias("runs"),
        pl.col("climate_zone").drop_nulls().unique().sort().alias("climates"),
        pl.col("setup_type").unique().sort().alias("setups"),
    )
    two_pots = {member: (within, fillings) for member, within, fillings in view.shown.two_pots.iter_rows()}
    everyone = []
    for row in table.sort("member").iter_rows(named=True):
        within, fillings = two_pots.get(row["member"], (None, 0))
        everyone.append(
            Grower(
                row["member"],
                row["series"],
                row["runs"],
                ", ".join(row["climates"]) or "not shown",
                tuple(row["setups"]),
                within,
                fillings,
            )
        )
    return everyone

"""Runs far from their own series, and series that repeat another one: asked about, never held."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.check.findings import Hit, from_hits
from pipeline.check.numbers import figures_of
from schemas.rules.waits import RUN_WAITS, SERIES_WAITS
from schemas.trade.amounts import MINUTE_S, amount_in_words
from schemas.trade.waiting.equal_series import equal_series
from schemas.trade.waiting.far_off import far_off

UNLIKE = "time_unlike_series"
UNITS = {"drain_time": "s", "collected": "ml"}


@dataclass(frozen=True)
class FarOff:
    """A run 8 times or more from what its own sheet's series gives: where an exact slip would make it ordinary it
    waits, else it is asked about."""

    id: str = UNLIKE

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Advice on the odd rows, never on their ordinary fellows."""
        hits = [
            Hit(run["position"], run["column"], RUN_WAITS if run["factor"] else self.id, far_details(run))
            for run in at_rows(rows, far_off(rows, ["file_id"]), ("series",))
        ]
        return from_hits(rows, hits)


@dataclass(frozen=True)
class EqualSeries:
    """A series of 3 or more runs that an earlier one of its sheet equals in every measured value."""

    id: str = SERIES_WAITS

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Advice on every row of the later series."""
        equal = equal_series(rows, "file_id", ["file_id"])
        hits = [
            Hit(run["position"], "series", self.id, equal_details(run))
            for run in at_rows(rows, equal, ("series",))
        ]
        return from_hits(rows, hits)


def at_rows(rows: pl.DataFrame, asked: pl.DataFrame, names: Iterable[str]) -> Iterable[Mapping[str, Any]]:
    """What is asked, with the position and these columns of its row."""
    known = rows.select("position", *names).with_columns(row=pl.int_range(pl.len(), dtype=pl.Int64))
    return asked.join(known, on="row", maintain_order="left").iter_rows(named=True)


def far_details(run: Mapping[str, Any]) -> dict[str, str]:
    """What the catalogue's sentence about a run far off asks for. run: `FAR_OFF`, and its `series`."""
    slow, of_time = not run["too_fast"], run["column"] == "drain_time"
    more = slow == of_time
    mended = "smaller" if more else "larger"
    if of_time:
        mended = "shorter" if more else "longer"
    return {
        "times": figures_of(run["times"], 2),
        "way": ("as long as" if of_time else "as much as")
        if more
        else ("shorter than" if of_time else "less than"),
        "series": str(run["series"]),
        "usual": _about(run["usual"], UNITS[run["column"]]),
        "slip": f"{run['factor']:g} times {mended}" if run["factor"] else "",
    }


def equal_details(run: Mapping[str, Any]) -> dict[str, str]:
    """What the catalogue's sentence about an equal series asks for."""
    return {
        "series": str(run["series"]),
        "earlier": f"series “{run['earlier_series']}” of member {run['earlier_member']}",
    }


def _about(value: float, unit: str) -> str:
    """An expected amount as a person would say it: two figures, times over a minute to 10 s, over ten minutes to 1 min."""
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    if unit == "s" and value >= MINUTE_S:
        step = 10.0 if value < 10 * MINUTE_S else MINUTE_S
    return amount_in_words(round(round(value / step) * step, 6), unit)

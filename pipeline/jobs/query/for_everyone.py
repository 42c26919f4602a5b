"""The answer as everyone may have it: small groups coarsened, days by month, no figure that rests on too few growers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import polars as pl

from reports.words import capital, plain
from schemas.trade.small_numbers import FEWER, coarsened, too_few_to_show

FIGURES = ("ratio", "ci", "new_series", "p_faster", "p_clears", "p_faster_pot", "p_clears_pot")


def runs_for_everyone(runs: pl.DataFrame) -> pl.DataFrame:
    """The runs with coarsened places, each day as the first of its month."""
    return coarsened(runs).with_columns(pl.col("tested_on").dt.truncate("1mo"))


def components_for_everyone(components: Mapping[str, Any]) -> dict[str, Any]:
    """The tables of an answer without figures of fewer than 3 growers: such a share keeps its name only, its counts are
    None; a component of which nothing is left says so."""
    return {name: _table(name, table) for name, table in components.items()}


def _table(name: str, table: Mapping[str, Any]) -> dict[str, Any]:
    shares = [_share(row) for row in table["shares"]]
    recommendation = dict(table["recommendation"])
    if shares and all(row["members"] is None for row in shares):
        text = capital(f"{FEWER} measured each share of {plain(name)}.")
        recommendation |= {"share": None, "parts": None, "verdict": "too_few", "text": text}
    bases = components_for_everyone(table.get("bases") or {})
    return {"shares": shares, "recommendation": recommendation, "bases": bases}


def _share(row: Mapping[str, Any]) -> dict[str, Any]:
    if not too_few_to_show(row["members"]):
        return dict(row)
    return {
        **row,
        **dict.fromkeys(FIGURES),
        "members": None,
        "series": None,
        "verdict": "too_few",
        "why": capital(f"{FEWER}."),
    }

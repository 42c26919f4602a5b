"""Small invented pools for the compare stage, and layouts drawn from a fixed seed."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

import numpy as np
import polars as pl
import pytest

from pipeline.compare.model.layout import Layout, no_columns
from schemas.kinds.run import RUN

Rows = list[dict[str, Any]]
MakeFrame = Callable[[Rows], pl.DataFrame]
MakePool = Callable[..., Rows]
DrawLayout = Callable[..., Layout]

KINDS = {"text": pl.String, "date": pl.Date, "number": pl.Float64, "whole": pl.Int64, "flag": pl.Boolean}
PLAIN: dict[str, Any] = {
    "tested_on": datetime.date(2026, 3, 1),
    "climate_zone": "Cfb",
    "setup_type": "rack",
    "pot_volume_ml": 1000.0,
    "pot_volume_computed": False,
    "base": "sphagnum_peat",
    "component": "perlite",
    "component_grade": "medium",
    "pot_no": 1,
    "pour_no": 1,
    "poured_ml": 300.0,
    "collected_ml": 150.0,
    "ended": "reached",
    "start_moisture": "moist",
    "submission": "0" * 64,
    "sheet_row": 2,
    "part_marked": False,
    "unlike_pour": False,
}


def run_frame(rows: Rows) -> pl.DataFrame:
    """Runs in canonical form from rows of `member`, `series`, `component_share`, `drain_time_s` and what differs."""
    filled = [{**PLAIN, "member_key": row["member"], "series_key": row["series"], **row} for row in rows]
    frame = pl.DataFrame(filled, schema={column.name: KINDS[column.frame] for column in RUN.kept})
    rate = pl.col("collected_ml") / pl.col("drain_time_s") * 60 / (pl.col("pot_volume_ml") / 1000)
    return frame.with_columns(pl.when(pl.col("ended") != "ran_dry").then(rate).alias("rate_ml_min_l"))


def invented_pool(
    members: int = 8,
    curve: dict[float, float] | None = None,
    seed: int = 1,
    series: int = 2,
    pots: int = 2,
    pours: int = 1,
    spread: float = 0.10,
    **same: Any,
) -> Rows:
    """Rows of a pool with a stated curve of ln ratio by share."""
    rng = np.random.default_rng(seed)
    curve = {15.0: 0.05, 30.0: 0.4, 45.0: 0.8, 60.0: 1.0} if curve is None else curve
    rows = []
    for i in range(members):
        level = rng.normal(0, spread)
        for s in range(series):
            own = rng.normal(0, 0.5)
            for share, effect in {0.0: 0.0, **curve}.items():
                mix = rng.normal(0, 0.05)
                for pot in range(pots):
                    for pour in range(pours):
                        ln_rate = own + effect + (share > 0) * level + mix + rng.normal(0, 0.08)
                        rows.append(
                            {
                                "member": f"fen-{i:02d}",
                                "series": f"bench {s}",
                                "component_share": share,
                                "pot_no": pot + 1,
                                "pour_no": pour + 1,
                                "drain_time_s": float(120 * np.exp(-ln_rate)),
                                **same,
                            }
                        )
    return rows


@pytest.fixture
def frame() -> MakeFrame:
    """`run_frame`."""
    return run_frame


@pytest.fixture
def pool() -> MakePool:
    """`invented_pool`."""
    return invented_pool


@pytest.fixture
def drawn_layout() -> DrawLayout:
    """A headline layout drawn from a seed; `clubs` puts members into that many blocks with a club effect."""

    def made(series: int = 24, seed: int = 3, clubs: int = 0, differences: bool = False) -> Layout:
        rng = np.random.default_rng(seed)
        sizes = rng.integers(2, 6, series)
        member = np.arange(series) // 2
        members = int(member[-1]) + 1
        rows = np.repeat(np.arange(series), sizes)
        share = np.concatenate([np.sort(rng.choice(5, size, replace=False)) for size in sizes]) + 1
        x = share / 10
        block = np.arange(members) * max(clubs, 1) // members if clubs else np.arange(members)
        shared = (rows % 5 == 0) if differences else np.zeros(len(rows), dtype=bool)
        base = (~shared).astype(float)
        y = 0.8 * x + rng.normal(0, 0.2, members)[member[rows]] + rng.normal(0, 0.2, len(rows))
        return Layout(
            y=y,
            X=(share[:, None] == np.arange(1, 6)).astype(float),
            own_variance=0.01 / rng.integers(1, 4, len(rows)),
            reference_variance=np.repeat(0.01 / rng.integers(1, 4, series), sizes),
            shared_filling=shared,
            z_series=base[:, None],
            z_member=np.column_stack([base, x]),
            z_club=base[:, None] if clubs else no_columns(len(rows)),
            with_mix=True,
            series=rows,
            member=member,
            block=block,
        )

    return made

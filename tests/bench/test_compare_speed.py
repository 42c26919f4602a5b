"""Speed of the comparison in processor seconds, one thread: run with OPENBLAS_NUM_THREADS=1 and this file's path.

Aims (issue 3): headline fit at 1 000 series 0.2 s, at 10 000 series 2 s and 400 MB; the stage with leave-one-out at
1 000 members 15 s.
"""

from __future__ import annotations

import datetime
import resource
import time
from collections.abc import Sequence
from typing import Any

import numpy as np
import polars as pl
import pytest

from pipeline.compare.model.layout import Layout, no_columns, rising_codes
from pipeline.compare.model.reml import fit_layout
from pipeline.compare.steps import compare_runs
from pipeline.settings import Settings
from schemas.kinds.run import RUN

KINDS = {"text": pl.String, "date": pl.Date, "number": pl.Float64, "whole": pl.Int64, "flag": pl.Boolean}
SHARES = np.array([15.0, 25.0, 35.0, 45.0, 55.0, 65.0])


def drawn_layout(series: int) -> Layout:
    """A headline layout: two series a member on average, three to six mixes a series."""
    rng = np.random.default_rng(1)
    member = rising_codes(np.sort(rng.integers(0, series // 2, series)))
    sizes = rng.integers(3, 7, series)
    row = np.repeat(np.arange(series), sizes)
    share = np.concatenate([np.sort(rng.choice(6, size, replace=False)) for size in sizes])
    x, members = SHARES[share] / 100, int(member[-1]) + 1
    growers = rng.normal(0, 0.15, members)[member[row]] + x * rng.normal(0, 0.4, members)[member[row]]
    y = x + growers + rng.normal(0, 0.12, series)[row] + rng.normal(0, 0.14, len(row))
    ones = np.ones((len(row), 1))
    return Layout(
        y=y,
        X=(share[:, None] == np.arange(6)).astype(float),
        own_variance=0.01 / rng.integers(1, 4, len(row)),
        reference_variance=np.repeat(0.01 / rng.integers(1, 4, series), sizes),
        shared_filling=np.zeros(len(row), dtype=bool),
        z_series=ones,
        z_member=np.column_stack([ones, x]),
        z_club=no_columns(len(row)),
        with_mix=True,
        series=row,
        member=member,
        block=np.arange(members),
    )


@pytest.mark.parametrize(("series", "seconds"), [(1_000, 0.2), (10_000, 2.0)])
def test_headline_fit(series: int, seconds: float) -> None:
    layout = drawn_layout(series)
    start = time.process_time()
    fit = fit_layout(layout)
    spent = time.process_time() - start
    assert fit.relative_change < 1e-12
    assert spent <= seconds, f"{spent:.2f} s"
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024 <= 400


def drawn_runs(members: int) -> pl.DataFrame:
    """Canonical runs of a pool: three series a member, one of each grade, two pours a pot."""
    rng = np.random.default_rng(2)
    rows = []
    for member in range(members):
        for grade in ("fine", "medium", "coarse"):
            level = rng.normal(0, 0.5)
            for share in [0.0, *SHARES[rng.random(6) > 0.3]]:
                mix = level + share / 60 + rng.normal(0, 0.1)
                rows += [
                    (f"m{member:04d}", grade, share, pour, 120 * np.exp(-mix + rng.normal(0, 0.1)))
                    for pour in (1, 2)
                ]
    member_codes, grades, shares, pours, seconds = zip(*rows, strict=True)
    given: dict[str, Sequence[Any]] = {
        "member": member_codes, "member_key": member_codes, "series": grades, "series_key": grades, "component_grade": grades,
        "component_share": shares, "pour_no": pours, "drain_time_s": seconds,
    }  # fmt: skip
    same = {
        "tested_on": datetime.date(2026, 3, 1), "climate_zone": "Cfb", "setup_type": "rack", "pot_volume_ml": 1000.0,
        "pot_volume_computed": False, "base": "sphagnum_peat", "component": "perlite", "pot_no": 1, "poured_ml": 300.0,
        "collected_ml": 150.0, "ended": "reached", "start_moisture": "moist", "submission": "0" * 64, "sheet_row": 2,
        "part_marked": False, "unlike_pour": False,
    }  # fmt: skip
    columns = {
        column.name: pl.Series(
            column.name,
            given.get(column.name, [same.get(column.name)] * len(rows)),
            dtype=KINDS[column.frame],
        )
        for column in RUN.kept
    }
    return pl.DataFrame(columns).with_columns(
        (pl.col("collected_ml") / pl.col("drain_time_s") * 60).alias("rate_ml_min_l")
    )


@pytest.mark.parametrize(("members", "seconds"), [(30, 2.0), (1_000, 15.0)])
def test_whole_stage_with_leave_one_out(members: int, seconds: float) -> None:
    runs = drawn_runs(members)
    start = time.process_time()
    comparison = compare_runs(runs, Settings())
    spent = time.process_time() - start
    assert comparison.components["perlite"]["recommendation"]["verdict"] == "enough"
    assert spent <= seconds, f"{spent:.2f} s"

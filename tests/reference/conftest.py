"""Reads the reference cases: inputs and outside values, each from the folder named after it."""

from __future__ import annotations

import csv
import datetime
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest

from pipeline.compare.model.layout import Layout, nest, no_columns
from schemas.kinds.run import RUN

HERE = Path(__file__).parent
KINDS = {"text": pl.String, "date": pl.Date, "number": pl.Float64, "whole": pl.Int64, "flag": pl.Boolean}
SETUPS = {"over_jug": "jug_rim", "on_sieve": "sieve"}


Table = dict[str, np.ndarray]


@dataclass(frozen=True)
class Case:
    """One folder of references."""

    name: str

    def json(self, file: str) -> dict[str, Any]:
        content: dict[str, Any] = json.loads((HERE / self.name / file).read_text(encoding="utf-8"))
        return content

    def rows(self, file: str) -> list[dict[str, str]]:
        with (HERE / self.name / file).open(encoding="utf-8", newline="") as stream:
            return list(csv.DictReader(stream))

    def table(self, file: str = "effects.csv") -> Table:
        """Columns by name, numbers where every cell is one."""
        rows = self.rows(file)
        return {name: _column([row[name] for row in rows]) for name in rows[0]}

    def run_frame(self) -> pl.DataFrame:
        """runs.csv as the canonical run frame with rates (what the normalise stage hands on)."""
        frame = pl.DataFrame(
            [_run(position, row) for position, row in enumerate(self.rows("runs.csv"))],
            schema={column.name: KINDS[column.frame] for column in RUN.kept},
        )
        litres = pl.col("pot_volume_ml") / 1000
        rate = pl.col("collected_ml") / pl.col("drain_time_s") * 60 / litres
        return frame.with_columns(rate.alias("rate_ml_min_l"))


def _column(cells: list[str]) -> np.ndarray:
    try:
        return np.array([float(cell) if cell not in ("", "NA") else np.nan for cell in cells])
    except ValueError:
        return np.array(cells)


def _run(position: int, row: dict[str, str]) -> dict[str, Any]:
    collected = float(row["stated_ml"])
    return {
        "member": row["site"],
        "series": row["series"],
        "member_key": row["site"].lower(),
        "series_key": row["series"].lower(),
        "tested_on": datetime.date(2026, 3, 1),
        "climate_zone": "Cfb",
        "setup_type": SETUPS[row["setup"]],
        "pot_volume_ml": 1000 * float(row["pot_l"]),
        "pot_volume_computed": False,
        "base": "sphagnum_peat",
        "component": "perlite",
        "component_grade": row["grade"],
        "component_share": float(row["share_pct"]),
        "pot_no": int(row["pot_no"]),
        "pour_no": int(row["pour"]),
        "poured_ml": 2 * collected,
        "collected_ml": collected,
        "drain_time_s": float(row["time_s"]),
        "ended": "stopped" if row["censored"] == "1" else "reached",
        "start_moisture": "moist",
        "submission": "0" * 64,
        "sheet_row": position + 2,
        "part_marked": False,
        "unlike_pour": False,
    }


def nested_layout(
    y: np.ndarray,
    X: np.ndarray,
    own: np.ndarray,
    reference: np.ndarray,
    series: np.ndarray,
    member: np.ndarray,
    z_member: np.ndarray | None = None,
    z_series: np.ndarray | None = None,
    with_mix: bool = False,
    shared_filling: np.ndarray | None = None,
) -> Layout:
    """A layout straight from arrays given per effect, in any order."""
    rows = len(y)
    order, series_of, member_of, block = nest(series, member, member)
    shared = np.zeros(rows, dtype=bool) if shared_filling is None else shared_filling
    return Layout(
        y=y[order],
        X=X[order],
        own_variance=own[order],
        reference_variance=reference[order],
        shared_filling=shared[order],
        z_series=no_columns(rows) if z_series is None else z_series[order],
        z_member=no_columns(rows) if z_member is None else z_member[order],
        z_club=no_columns(rows),
        with_mix=with_mix,
        series=series_of,
        member=member_of,
        block=block,
    )


OpenCase = Callable[[str], Case]
LayOut = Callable[..., Layout]
HeadlineLayout = Callable[[Case], Layout]


@pytest.fixture(scope="session")
def open_case() -> OpenCase:
    """Opens a case by name."""
    return Case


@pytest.fixture(scope="session")
def lay_out() -> LayOut:
    """`nested_layout`."""
    return nested_layout


@pytest.fixture(scope="session")
def headline_layout() -> HeadlineLayout:
    """The headline's layout of a case's effects.csv: one mean per share; member level and slope, series, mix."""

    def made(case: Case) -> Layout:
        table = case.table()
        x = table["share_pct"] / 100
        ones = np.ones((len(x), 1))
        return nested_layout(
            table["yi"],
            (table["share_pct"][:, None] == np.unique(table["share_pct"])).astype(float),
            table["v_own"],
            table["v_base"],
            table["series"],
            table["site"],
            z_member=np.column_stack([ones, x]),
            z_series=ones,
            with_mix=True,
        )

    return made

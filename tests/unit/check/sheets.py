"""Hand-made frames in the form that intake gives, so that the check stage is tested alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import polars as pl

from pipeline.check.steps import Checked, check_sheets
from pipeline.settings import Settings
from schemas.frame_types import polars_type
from schemas.kinds.run import RUN
from schemas.problems import PROBLEM_SCHEMA

TODAY = date(2026, 6, 1)
TYPED = {
    column.name: polars_type(column.frame)
    for column in RUN.kept
    if column.name not in ("submission", "sheet_row", "part_marked", "unlike_pour")
}
UNITS = {column.name.removesuffix(f"_{column.unit}"): column for column in RUN.kept if column.unit}
MIX: dict[str, Any] = {
    "member": "fen-07",
    "series": "bench A",
    "tested_on": date(2026, 3, 14),
    "climate_zone": "Cfb",
    "setup_type": "rack",
    "pot_volume_ml": 1000.0,
    "pot_volume_computed": False,
    "base": "sphagnum_peat",
    "component": "perlite",
    "component_grade": "medium",
    "component_share": 40.0,
    "pot_no": 1,
    "pour_no": 1,
    "poured_ml": 300.0,
    "collected_ml": 150.0,
    "drain_time_s": 205.0,
    "ended": "reached",
    "start_moisture": "moist",
}
BASE: dict[str, Any] = {**MIX, "component_share": 0.0, "drain_time_s": 310.0}


def mix(**changes: Any) -> dict[str, Any]:
    """A right row of a mix at 40 %, with these converted values changed."""
    return {**MIX, **changes}


def base(**changes: Any) -> dict[str, Any]:
    """A right row of the baseline mix, with these converted values changed."""
    return {**BASE, **changes}


def cell_of(row: Mapping[str, Any], sheet_column: str) -> str | None:
    """What a member might have typed for the converted values of a row."""
    run_column = UNITS.get(sheet_column)
    name = run_column.name if run_column else sheet_column
    value = row.get(name)
    if value is None or (name == "pot_volume_ml" and row.get("pot_volume_computed")):
        return None
    unit = run_column.unit if run_column and name != "component_share" else ""
    return f"{value:g} {unit}".strip() if isinstance(value, float) else str(value)


def frames(*sheets: Sequence[Mapping[str, Any]]) -> tuple[pl.DataFrame, pl.DataFrame, pl.DataFrame]:
    """files, cells and typed of these sheets; rows are numbered from 2. A row's `cells` entry overrides what
    is typed in single cells, its `sheet_row` the number."""
    files = pl.DataFrame(
        {
            "file_id": range(len(sheets)),
            "file": [f"sheet{number}.csv" for number in range(len(sheets))],
            "submission": [f"{number:064x}" for number in range(len(sheets))],
            "rows": [len(rows) for rows in sheets],
            "readable": [True] * len(sheets),
        },
        schema_overrides={"file_id": pl.UInt32, "rows": pl.Int64},
    )
    cells, typed = [], []
    for file_id, rows in enumerate(sheets):
        for sheet_row, row in enumerate(rows, 2):
            key = {"file_id": file_id, "sheet_row": row.get("sheet_row", sheet_row)}
            as_typed = {column.name: cell_of(row, column.name) for column in RUN.columns}
            cells.append({**key, **as_typed, **row.get("cells", {})})
            values = {name: row.get(name) for name in TYPED}
            for name in ("member", "series"):
                values[f"{name}_key"] = " ".join(str(row[name]).casefold().split()) if row.get(name) else None
            typed.append({**key, **values})
    keys = {"file_id": pl.UInt32, "sheet_row": pl.UInt32}
    names = dict.fromkeys((column.name for column in RUN.columns), pl.String)
    return files, pl.DataFrame(cells, schema={**keys, **names}), pl.DataFrame(typed, schema={**keys, **TYPED})


def problems(*lines: Mapping[str, Any]) -> pl.DataFrame:
    """What intake might already have found."""
    blank = {"sheet_row": None, "column": None, "value": None, "details": "{}"}
    return pl.DataFrame([{**blank, **line} for line in lines], schema=PROBLEM_SCHEMA)


def check_many(*sheets: Sequence[Mapping[str, Any]], found: pl.DataFrame | None = None) -> Checked:
    """The check of several sheets at once."""
    files, cells, typed = frames(*sheets)
    before = problems() if found is None else found
    return check_sheets(files, cells, typed, before, RUN, Settings(), TODAY)


def check(*rows: Mapping[str, Any], found: pl.DataFrame | None = None) -> Checked:
    """The check of one sheet."""
    return check_many(rows, found=found)


def said(checked: Checked) -> list[tuple[int | None, str]]:
    """(row, rule) of every problem, in order."""
    return [(one["row"], one["rule"]) for one in checked.problems.iter_rows(named=True)]


def message(checked: Checked, rule: str, row: int | None = None) -> str:
    """The message of the only problem of that rule (in that row)."""
    of_rule = checked.problems.filter(pl.col("rule") == rule)
    if row is not None:
        of_rule = of_rule.filter(pl.col("row") == row)
    return str(of_rule["message"].item())

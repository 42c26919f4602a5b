"""What a file's cells say together: times that a spreadsheet changed, kitchen units read as US customary."""

from __future__ import annotations

import re

import polars as pl

from pipeline.intake.convert import Converted, row_problems
from pipeline.intake.readers import READERS
from pipeline.intake.received import Finding, details_text
from pipeline.intake.times import ON_THE_HOUR, WITH_SECONDS
from schemas.units import Unit, find_unit

FEWEST_RUNS = 3
"""So many times in three fields, of runs that were not stopped, make a pattern."""

_FIELDS = re.compile(r"([0-9]+):([0-9]{2}):00")


def spreadsheet_times(cells: pl.DataFrame, converted: Converted) -> tuple[pl.Series, pl.DataFrame]:
    """True for the rows whose time a spreadsheet changed from m:ss to h:mm:00, and their problems: all three-field
    times of a file end in :00, and three or more of them were not stopped."""
    marks = converted.marks.get("drain_time")
    nowhere = pl.Series("changed", [False]).new_from_index(0, cells.height)
    if marks is None or not (marks == ON_THE_HOUR).any():
        return nowhere, row_problems(cells, nowhere, "drain_time", "time_from_spreadsheet")
    ended = converted.values.get("ended", pl.Series([None], dtype=pl.String).new_from_index(0, cells.height))
    files = (
        pl.DataFrame({"file_id": cells["file_id"], "mark": marks, "ended": ended})
        .filter(pl.col("mark").is_in([ON_THE_HOUR, WITH_SECONDS]))
        .group_by("file_id")
        .agg(
            all_on_the_hour=(pl.col("mark") == ON_THE_HOUR).all(),
            not_stopped=(pl.col("ended").fill_null("reached") != "stopped").sum(),
        )
        .filter(pl.col("all_on_the_hour") & (pl.col("not_stopped") >= FEWEST_RUNS))
    )
    changed = (marks == ON_THE_HOUR).fill_null(False) & cells["file_id"].is_in(files["file_id"].to_list())
    return changed.alias("changed"), _time_problems(cells, changed)


def _time_problems(cells: pl.DataFrame, changed: pl.Series) -> pl.DataFrame:
    rows = cells.filter(changed)
    offers = pl.Series([details_text(_offer(text)) for text in rows["drain_time"]], dtype=pl.String)
    every = pl.Series([True]).new_from_index(0, rows.height)
    return row_problems(rows, every, "drain_time", "time_from_spreadsheet", offers)


def _offer(text: str) -> dict[str, str]:
    """`3:25:00` as 3 min 25 s, which it probably was, and as 3 h 25 min, which it says."""
    fields = _FIELDS.search(text)
    if fields is None:
        return {"offer": "3 min 25 s", "literal": "3 h 25 min"}
    first, second = int(fields[1]), int(fields[2])
    return {"offer": f"{first} min {second} s", "literal": f"{first} h {second} min"}


def _in_ml(unit: str) -> str:
    found = find_unit(unit, "volume", "pot_volume")
    return f"1 {unit} = {float(found.factor):.4g} ml" if isinstance(found, Unit) else unit


def kitchen_units(cells: pl.DataFrame, converted: Converted) -> list[tuple[int, Finding]]:
    """One advice line per file that has kitchen units without a country: they were read as US customary."""
    parts = []
    for reader in READERS:
        marks = converted.marks.get(reader.column)
        if (
            reader.has_unit
            and reader.into.endswith("_ml")
            and marks is not None
            and marks.is_not_null().any()
        ):
            parts.append(pl.DataFrame({"file_id": cells["file_id"], "unit": marks}).drop_nulls().unique())
    if not parts:
        return []
    used: dict[int, set[str]] = {}
    for file_id, unit in pl.concat(parts).iter_rows():
        used.setdefault(file_id, set()).add(unit)
    return [
        (file_id, Finding("kitchen_units_us", {"units": ", ".join(map(_in_ml, sorted(units)))}))
        for file_id, units in sorted(used.items())
    ]

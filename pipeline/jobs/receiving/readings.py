"""What each cell with a unit was read as, told back to the sender: “3 cups = 710 ml”."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.check.steps import Checked, check_sheets
from pipeline.intake.steps import ReceivedFile, read_sheets
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.settings import Settings

READ_AS: dict[str, tuple[str, str]] = {
    "tested_on": ("tested_on", ""),
    "pot_volume": ("pot_volume_ml", "ml"),
    "component_share": ("component_share", "%"),
    "parts": ("component_share", "%"),
    "poured": ("poured_ml", "ml"),
    "collected": ("collected_ml", "ml"),
    "drain_time": ("drain_time_s", "s"),
    "water_temp": ("water_temp_c", "°C"),
    "pot_top_diameter": ("pot_top_diameter_cm", "cm"),
    "pot_base_diameter": ("pot_base_diameter_cm", "cm"),
    "fill_depth": ("fill_depth_cm", "cm"),
    "component_min_size": ("component_min_size_mm", "mm"),
    "component_max_size": ("component_max_size_mm", "mm"),
    "hole_size": ("hole_size_mm", "mm"),
    "came_out": ("came_out_ml", "ml"),
    "pour_time": ("pour_time_s", "s"),
    "rest_before": ("rest_before_h", "h"),
    "mix_age": ("mix_age_days", "days"),
}
"""Sheet column -> the run column that its cells became, and the unit of that."""
MOST_OF_A_COLUMN = 12


@dataclass(frozen=True)
class Reading:
    """One way in which a column's cells were typed, and what was understood, number and unit."""

    column: str
    typed: str
    read: str


def check_and_read_back(
    sheets: Sequence[Sheet], settings: Settings, today: date
) -> tuple[Checked, dict[int, list[Reading]]]:
    """Checks sheets as `check` does, and says besides how the cells of accepted rows were read, by file_id."""
    files = [ReceivedFile(sheet.name, sheet.content) for sheet in sheets if sheet.content is not None]
    read = read_sheets(files)
    checked = check_sheets(read.files, read.cells, read.typed, read.problems, settings, today)
    return checked, readings(read.cells, checked.accepted)


def readings(cells: pl.DataFrame, accepted: pl.DataFrame) -> dict[int, list[Reading]]:
    """For each file the different spellings of each column with a unit, in column order, each once."""
    found: dict[int, list[Reading]] = {}
    for column, (became, unit) in READ_AS.items():
        if column not in cells.columns or accepted.is_empty():
            continue
        pairs = (
            accepted.select("file_id", "sheet_row", pl.col(became).alias("read"))
            .join(
                cells.select("file_id", "sheet_row", pl.col(column).alias("typed")),
                on=["file_id", "sheet_row"],
            )
            .drop_nulls()
            .sort("file_id", "sheet_row")
            .unique(["file_id", "typed"], keep="first", maintain_order=True)
            .group_by("file_id", maintain_order=True)
            .head(MOST_OF_A_COLUMN)
        )
        for row in pairs.iter_rows(named=True):
            text = (
                row["read"].isoformat() if isinstance(row["read"], date) else f"{figure(row['read'])} {unit}"
            )
            found.setdefault(row["file_id"], []).append(Reading(column, row["typed"], text))
    return found


def figure(value: float) -> str:
    """A number as a person would say it: whole from 100 up, else three figures."""
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"

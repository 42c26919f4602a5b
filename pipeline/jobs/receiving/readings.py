"""What each cell with a unit was read as, told back to the sender: “3 cups = 710 ml”."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.check.steps import Checked
from pipeline.intake.steps import ReceivedFile, read_by_kind
from pipeline.jobs.receiving.checking import check_read
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.settings import Settings
from schemas.column import Column
from schemas.kinds.kind import SheetKind
from schemas.kinds.registry import KINDS

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
    read = read_by_kind(files, tuple(KINDS.values()))
    checked = check_read(read, settings, today)
    found: dict[int, list[Reading]] = {}
    for of_kind in read:
        found |= readings(of_kind.cells, checked.accepted_of(of_kind.kind), of_kind.kind)
    return checked, found


def readings(cells: pl.DataFrame, accepted: pl.DataFrame, kind: SheetKind) -> dict[int, list[Reading]]:
    """For each file of that kind the different spellings of each column with a unit, in column order, each once."""
    found: dict[int, list[Reading]] = {}
    for record in kind.columns:
        column = record.name
        if column not in cells.columns or accepted.is_empty() or not _is_read_back(record):
            continue
        unit = _unit(record)
        pairs = (
            accepted.select("file_id", "sheet_row", pl.col(record.becomes).alias("read"))
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


def _is_read_back(column: Column) -> bool:
    """Whether what was understood may differ from what was typed: days, parts and all that has a unit."""
    return column.kind in ("date", "parts") or column.unit_kind is not None


def _unit(column: Column) -> str:
    """The unit in which the pool keeps what the column's cells became."""
    if column.kind in ("share", "parts"):
        return "%"
    return "" if column.kept is None else column.kept.unit


def figure(value: float) -> str:
    """A number as a person would say it: whole from 100 up, else three figures."""
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"

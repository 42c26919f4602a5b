"""The typed frame: converted columns under the pool's names, in the pool's order."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from pipeline.intake.convert import Converted, convert
from pipeline.intake.headings import Headings
from pipeline.intake.readers import READERS
from pipeline.intake.received import Finding
from pipeline.intake.settle import Settled
from pipeline.intake.shape import KEYS
from pipeline.intake.whole_files import kitchen_units
from pipeline.intake.whole_rows import pot_volumes, shares
from schemas.columns import RUN_COLUMNS
from schemas.frame_types import polars_type

WHEN_BLANK = {"base": "sphagnum_peat", "ended": "reached"}
"""What a blank cell of these columns means."""

MADE_LATER = ("submission", "sheet_row", "part_marked", "unlike_pour")
TYPED_SCHEMA: dict[str, pl.DataType] = {
    "file_id": pl.UInt32(),
    "sheet_row": pl.UInt32(),
    **{column.name: polars_type(column.frame) for column in RUN_COLUMNS if column.name not in MADE_LATER},
}
"""Columns of the typed frame: the rows' keys, then the run's columns that one sheet alone can tell."""


def typed_frame(
    cells: pl.DataFrame, headings: Mapping[int, Headings], settled: Settled
) -> tuple[pl.DataFrame, list[pl.DataFrame], list[tuple[int, Finding]]]:
    """The rows of `cells` converted, in their order; the problems of rows; and what is said once per file."""
    converted = convert(cells, headings, settled)
    share, share_problems = shares(cells, converted)
    volume, computed, volume_problems = pot_volumes(cells, converted)
    made = {
        "component_share": share,
        "pot_volume_ml": volume,
        "pot_volume_computed": computed,
    }
    columns = {**_read_columns(cells, converted), **made}
    typed = pl.DataFrame(
        [cells["file_id"], cells["sheet_row"], *(one.alias(name) for name, one in columns.items())]
    )
    absent = [
        pl.lit(None, dtype).alias(name) for name, dtype in TYPED_SCHEMA.items() if name not in typed.columns
    ]
    problems = [*converted.problems, *share_problems, *volume_problems]
    return typed.with_columns(absent).select(*TYPED_SCHEMA), problems, kitchen_units(cells, converted)


def on_all_rows(typed: pl.DataFrame, cells: pl.DataFrame) -> pl.DataFrame:
    """The typed frame with a row for every row of `cells`: blank where a row was not converted."""
    if typed.height == cells.height:
        return typed
    return cells.select(KEYS).join(typed, on=KEYS, how="left", maintain_order="left")


def _read_columns(cells: pl.DataFrame, converted: Converted) -> dict[str, pl.Series]:
    """Every column that one cell fills, by its name in the pool."""
    columns: dict[str, pl.Series] = {}
    for reader in READERS:
        values = converted.values.get(reader.column)
        blank = WHEN_BLANK.get(reader.column)
        if values is None and blank is not None:
            columns[reader.into] = pl.Series([blank]).new_from_index(0, cells.height)
        elif values is not None and blank is not None:
            columns[reader.into] = values.zip_with(cells[reader.column].is_not_null(), pl.Series([blank]))
        elif values is not None:
            columns[reader.into] = values
        if values is not None and reader.column in ("member", "series"):
            columns[f"{reader.column}_key"] = converted.marks[reader.column]
    return columns

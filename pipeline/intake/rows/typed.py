"""The typed frame: converted columns under the pool's names, in the pool's order."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache

import polars as pl

from pipeline.intake.cells.readers import readers_of
from pipeline.intake.files.headings import Headings
from pipeline.intake.received import Finding
from pipeline.intake.rows.convert import Converted, convert
from pipeline.intake.rows.settle import Settled
from pipeline.intake.rows.shape import KEYS
from pipeline.intake.rows.whole_files import (
    kitchen_units,
    labels_counted_up,
    minutes_like_seconds,
    thousands_possible,
)
from pipeline.intake.rows.whole_rows import pot_volumes, shares
from schemas.frame_types import polars_type
from schemas.kinds.kind import SheetKind

Conversion = Callable[[pl.DataFrame, Converted], tuple[dict[str, pl.Series], list[pl.DataFrame]]]
"""Several cells of each row made into kept columns, by name, and the problems found on the way."""


@cache
def typed_schema(kind: SheetKind) -> dict[str, pl.DataType]:
    """Columns of the typed frame: the rows' keys, then the kept columns that one sheet alone can tell."""
    later = {derived.kept.name for derived in kind.derived if derived.made_in == "check"}
    kept = {kept.name: polars_type(kept.frame) for kept in kind.kept if kept.name not in later}
    return {"file_id": pl.UInt32(), "sheet_row": pl.UInt32(), **kept}


def typed_frame(
    cells: pl.DataFrame, headings: Mapping[int, Headings], settled: Settled, kind: SheetKind
) -> tuple[pl.DataFrame, list[pl.DataFrame], list[tuple[int, Finding]]]:
    """The rows of `cells` converted, in their order; the problems of rows; and what is said once per file."""
    converted = convert(cells, headings, settled, kind)
    columns = _read_columns(cells, converted, kind)
    problems = list(converted.problems)
    for name in kind.conversions:
        made, found = CONVERSIONS[name](cells, converted)
        columns.update(made)
        problems.extend(found)
    typed = pl.DataFrame(
        [cells["file_id"], cells["sheet_row"], *(column.alias(name) for name, column in columns.items())]
    )
    schema = typed_schema(kind)
    absent = [pl.lit(None, dtype).alias(name) for name, dtype in schema.items() if name not in typed.columns]
    said_once = [
        *kitchen_units(cells, converted, kind),
        *minutes_like_seconds(cells, converted),
        *labels_counted_up(cells),
        *thousands_possible(cells, converted, kind),
    ]
    return typed.with_columns(absent).select(*schema), problems, said_once


def _share(cells: pl.DataFrame, converted: Converted) -> tuple[dict[str, pl.Series], list[pl.DataFrame]]:
    share, problems = shares(cells, converted)
    return {"component_share": share}, problems


def _pot_volume(cells: pl.DataFrame, converted: Converted) -> tuple[dict[str, pl.Series], list[pl.DataFrame]]:
    volume, computed, problems = pot_volumes(cells, converted)
    return {"pot_volume_ml": volume, "pot_volume_computed": computed}, problems


CONVERSIONS: dict[str, Conversion] = {
    "share": _share,
    "pot_volume": _pot_volume,
}
"""What a kind may ask for under `conversions`, by name."""


def on_all_rows(typed: pl.DataFrame, cells: pl.DataFrame) -> pl.DataFrame:
    """The typed frame with a row for every row of `cells`: blank where a row was not converted."""
    if typed.height == cells.height:
        return typed
    return cells.select(KEYS).join(typed, on=KEYS, how="left", maintain_order="left")


def _read_columns(cells: pl.DataFrame, converted: Converted, kind: SheetKind) -> dict[str, pl.Series]:
    """Every column that one cell fills, by its name in the pool."""
    columns: dict[str, pl.Series] = {}
    for reader in readers_of(kind):
        values = converted.values.get(reader.column)
        blank = reader.when_blank
        if values is None and blank is not None:
            columns[reader.into] = pl.Series([blank]).new_from_index(0, cells.height)
        elif values is not None and blank is not None:
            columns[reader.into] = values.zip_with(cells[reader.column].is_not_null(), pl.Series([blank]))
        elif values is not None:
            columns[reader.into] = values
    for derived in kind.derived:
        if derived.key_of in converted.marks:
            columns[derived.kept.name] = converted.marks[derived.key_of]
    return columns

"""Which reader reads which sheet column, and under what name and kind the pool keeps it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import polars as pl

from pipeline.intake.counts import read_count
from pipeline.intake.dates import read_date
from pipeline.intake.readings import Reading, Setting
from pipeline.intake.shares import read_one_part, read_parts, read_share
from pipeline.intake.times import read_clock_time, read_time
from pipeline.intake.volumes import read_length, read_pot_volume, read_temperature, read_volume
from pipeline.intake.words import LONGEST_NOTES, read_choice, read_climate, read_code, read_notes, read_series
from schemas.columns import SHEET_COLUMNS, Kind

Reader = Callable[[str, Setting], Reading]


@dataclass(frozen=True)
class ColumnReader:
    """How one sheet column is read. `into`: its name in the typed frame; `free_text`: the cell is a member's own
    words, not folded; `has_number`, `has_unit`: what of the file's or heading's settling bears on it."""

    column: str
    into: str
    read: Reader
    dtype: pl.DataType
    required: bool
    kept_per: int = 1
    free_text: bool = False
    longest: int = 0
    has_number: bool = False
    has_unit: bool = False


_NUMBER, _WHOLE, _TEXT = pl.Float64(), pl.Int64(), pl.String()
_KINDS: dict[Kind, tuple[Reader, pl.DataType]] = {
    "code": (read_code, _TEXT),
    "text": (read_notes, _TEXT),
    "date": (read_date, pl.Date()),
    "choice": (read_choice, _TEXT),
    "count": (read_count, _WHOLE),
    "share": (read_share, _NUMBER),
    "parts": (read_one_part, _NUMBER),
    "volume": (read_volume, _NUMBER),
    "time": (read_time, _NUMBER),
    "length": (read_length, _NUMBER),
    "temperature": (read_temperature, _NUMBER),
}
_OWN_READERS: dict[str, Reader] = {
    "series": read_series,
    "climate_zone": read_climate,
    "pot_volume": read_pot_volume,
    "parts": read_parts,
    "drain_time": read_clock_time,
    "pour_time": read_clock_time,
}
_KEPT: dict[str, tuple[str, int]] = {
    "rest_before": ("h", 3600),
    "mix_age": ("days", 86400),
    "component_min_size": ("mm", 1),
    "component_max_size": ("mm", 1),
    "hole_size": ("mm", 1),
}
"""Unit in which the pool keeps a column, and how many s or mm make one, where its kind's usual one does not hold."""
_KEPT_BY_KIND: dict[Kind, tuple[str, int]] = {
    "volume": ("ml", 1),
    "time": ("s", 1),
    "length": ("cm", 10),
    "temperature": ("c", 1),
}
_NUMBERS: frozenset[Kind] = frozenset({"count", "share", "parts", "volume", "time", "length", "temperature"})
_WITH_UNIT: frozenset[Kind] = frozenset({"share", "volume", "time", "length", "temperature"})


def _column_readers() -> tuple[ColumnReader, ...]:
    readers = []
    for column in SHEET_COLUMNS:
        read, dtype = _KINDS[column.kind]
        kept = _KEPT.get(column.name) or _KEPT_BY_KIND.get(column.kind)
        readers.append(
            ColumnReader(
                column=column.name,
                into=f"{column.name}_{kept[0]}" if kept else column.name,
                read=_OWN_READERS.get(column.name, read),
                dtype=dtype,
                required=column.required == "yes",
                kept_per=kept[1] if kept else 1,
                free_text=column.kind in ("text", "code"),
                longest=LONGEST_NOTES if column.name == "notes" else 0,
                has_number=column.kind in _NUMBERS,
                has_unit=column.kind in _WITH_UNIT,
            )
        )
    return tuple(readers)


READERS: tuple[ColumnReader, ...] = _column_readers()
"""A reader for each column of the run sheet, in the sheet's order."""

"""Which reader reads which sheet column, and under what name and kind the pool keeps it."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass

import polars as pl

from pipeline.intake.cells.counts import read_count
from pipeline.intake.cells.dates import read_date
from pipeline.intake.cells.readings import Reading, Setting
from pipeline.intake.cells.shares import read_one_part, read_parts, read_share
from pipeline.intake.cells.times import read_age, read_clock_time, read_span
from pipeline.intake.cells.volumes import read_length, read_pot_volume, read_temperature, read_volume
from pipeline.intake.cells.words import read_choice, read_climate, read_code, read_notes, read_series
from schemas.column import NUMBER_KINDS, Column, FrameType, ValueKind
from schemas.frame_types import polars_type
from schemas.kinds.kind import SheetKind
from schemas.units import Unit, find_unit

Reader = Callable[[str, Setting], Reading]


@dataclass(frozen=True)
class ColumnReader:
    """How one sheet column is read. `into`: its name in the typed frame; `free_text`: the cell is a member's own
    words, not folded; `choices`: its vocabulary; `when_blank`: the value that a blank cell means; `has_number`, `has_unit`: what of the file's or heading's settling
    bears on it; `write`: what a member is asked for where a required cell is blank."""

    column: str
    into: str
    kind: ValueKind
    read: Reader
    dtype: pl.DataType
    required: bool
    kept_per: int = 1
    free_text: bool = False
    longest: int = 0
    choices: str = ""
    when_blank: str | None = None
    has_number: bool = False
    has_unit: bool = False
    write: str = ""
    longest_length: int | None = None


_KINDS: dict[ValueKind, tuple[Reader, FrameType]] = {
    "code": (read_code, "text"),
    "label": (read_series, "text"),
    "text": (read_notes, "text"),
    "date": (read_date, "date"),
    "choice": (read_choice, "text"),
    "climate": (read_climate, "text"),
    "count": (read_count, "whole"),
    "share": (read_share, "number"),
    "parts": (read_parts, "number"),
    "one part": (read_one_part, "number"),
    "volume": (read_volume, "number"),
    "pot volume": (read_pot_volume, "number"),
    "clock time": (read_clock_time, "number"),
    "span": (read_span, "number"),
    "age": (read_age, "number"),
    "length": (read_length, "number"),
    "temperature": (read_temperature, "number"),
}


@functools.cache
def readers_of(kind: SheetKind) -> tuple[ColumnReader, ...]:
    """A reader for each column of that kind of sheet, in the sheet's order."""
    readers = []
    for column in kind.columns:
        read, frame = _KINDS[column.kind]
        longest = column.kept.length if column.kept is not None and column.kind == "text" else None
        readers.append(
            ColumnReader(
                column=column.name,
                into=column.kept.name if column.kept is not None else column.name,
                kind=column.kind,
                read=read,
                dtype=polars_type(frame),
                required=column.required == "yes",
                kept_per=_kept_per(column),
                free_text=column.kind in ("code", "label", "text"),
                longest=longest[1] if longest is not None else 0,
                choices=column.choices or "",
                when_blank=column.when_blank,
                has_number=column.kind in NUMBER_KINDS,
                has_unit=column.unit_kind is not None,
                longest_length=column.longest,
                write=column.when_asked or f"it, such as {column.example}",
            )
        )
    return tuple(readers)


def _kept_per(column: Column) -> int:
    """How many of the base unit (ml, s, mm) make one of the unit that the pool keeps the column in."""
    if column.kept is None or column.unit_kind in (None, "share", "temperature"):
        return 1
    unit = find_unit(column.kept.unit, column.unit_kind)
    if not isinstance(unit, Unit):
        raise ValueError(f"{column.name} is kept in {column.kept.unit}, which is no unit")
    return int(unit.factor)

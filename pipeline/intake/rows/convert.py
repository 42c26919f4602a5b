"""Cells of many files to values: each different cell is read once, then laid back over all rows that hold it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.intake.cells.brackets import Said
from pipeline.intake.cells.readers import ColumnReader, readers_of
from pipeline.intake.cells.readings import Reading, Setting
from pipeline.intake.characters import fold, splits_a_number
from pipeline.intake.files.headings import Headings
from pipeline.intake.received import details_text
from pipeline.intake.rows.settle import Settled
from schemas.kinds.kind import SheetKind
from schemas.problems import PROBLEM_SCHEMA

LONGEST_CELL = 200
"""A longer cell of numbers or set words is held: nothing so long is allowed."""


@dataclass(frozen=True)
class Converted:
    """Values of the rows in the order of their cells. `values` and `marks` by sheet column; `problems` in the
    problem frame's columns."""

    values: dict[str, pl.Series]
    marks: dict[str, pl.Series]
    problems: list[pl.DataFrame]


def convert(
    cells: pl.DataFrame, headings: Mapping[int, Headings], settled: Settled, kind: SheetKind
) -> Converted:
    """Every column of that kind in `cells` read by its own reader. `headings` by file_id, of all files in `cells`."""
    converted = Converted({}, {}, [])
    for reader in readers_of(kind):
        if reader.column not in cells.columns:
            continue
        text = cells[reader.column]
        settings, of_file = _settings(reader, headings, settled)
        found = _read_all(text, cells["file_id"], reader, settings, of_file)
        converted.values[reader.column] = found["value"]
        converted.marks[reader.column] = found["mark"]
        converted.problems.append(_problems(cells, found, reader.column))
        if reader.required:
            converted.problems.append(_blank_cells(cells, reader))
    return converted


def _settings(
    reader: ColumnReader, headings: Mapping[int, Headings], settled: Settled
) -> tuple[list[Setting], dict[int, int]]:
    """The different settings under which a column is read, and by file_id which of them holds."""
    settings: list[Setting] = []
    places: dict[Setting, int] = {}
    of_file: dict[int, int] = {}
    for file_id, heading in headings.items():
        says = heading.says.get(reader.column, Said())
        setting = Setting(
            reader.column,
            says.unit if reader.has_unit else None,
            settled.decimal_mark(file_id) if reader.has_number else "",
            settled.date_order(file_id) if reader.kind == "date" else "",
            reader.kept_per,
            reader.choices,
            says.form,
            says.unread,
            reader.kind == "code" and file_id in settled.letters_guessed,
            reader.longest_length,
        )
        if setting not in places:
            places[setting] = len(settings)
            settings.append(setting)
        of_file[file_id] = places[setting]
    return settings, of_file


def _read_all(
    text: pl.Series,
    file_ids: pl.Series,
    reader: ColumnReader,
    settings: Sequence[Setting],
    of_file: Mapping[int, int],
) -> pl.DataFrame:
    """value, rule, details, mark of every cell, in order; all null for a blank cell."""
    if reader.longest and not (text.str.len_chars() > reader.longest).any():
        return _kept_as_they_stand(text)
    table = pl.DataFrame({"text": text})
    keys = ["text"]
    if len(settings) > 1:
        table = table.with_columns(setting=_setting_column(file_ids, of_file))
        keys.append("setting")
    different = table.drop_nulls("text").unique()
    places = different["setting"] if len(settings) > 1 else [0] * different.height
    readings = [
        _read_one(reader, one, settings[place]) for one, place in zip(different["text"], places, strict=True)
    ]
    read = different.with_columns(
        pl.Series("value", [reading.value for reading in readings], dtype=reader.dtype),
        pl.Series("rule", [reading.rule for reading in readings], dtype=pl.String),
        pl.Series(
            "details",
            [details_text(reading.details) if reading.rule else None for reading in readings],
            dtype=pl.String,
        ),
        pl.Series("mark", [reading.mark for reading in readings], dtype=pl.String),
    )
    return table.join(read, on=keys, how="left", maintain_order="left")


def _kept_as_they_stand(text: pl.Series) -> pl.DataFrame:
    """Cells that are all kept as they are: nothing to be read or said."""
    nothing = pl.lit(None, pl.String)
    return pl.DataFrame({"text": text, "value": text}).with_columns(
        rule=nothing, details=nothing, mark=nothing
    )


def _setting_column(file_ids: pl.Series, of_file: Mapping[int, int]) -> pl.Series:
    """Which setting holds for each row; files stand in a table by their id."""
    table = [0] * (max(of_file) + 1)
    for file_id, place in of_file.items():
        table[file_id] = place
    return pl.Series(table, dtype=pl.UInt32).gather(file_ids)


def _read_one(reader: ColumnReader, text: str, setting: Setting) -> Reading:
    """One cell read; a reader that fails becomes a finding, never the end of a member's receipt."""
    if setting.unread_heading:
        return Reading(None, "heading_not_used", {"bracket": setting.unread_heading})
    if len(text) > LONGEST_CELL and not reader.free_text:
        return Reading(None, "cell_too_long", {"length": str(len(text)), "most": str(LONGEST_CELL)})
    if not reader.free_text and splits_a_number(text):
        return Reading(None, "invisible_inside")
    try:
        return reader.read(text if reader.free_text else fold(text), setting)
    except Exception:
        return Reading(None, "cell_not_read")


def _problems(cells: pl.DataFrame, found: pl.DataFrame, column: str) -> pl.DataFrame:
    """The problem frame of what was found in one column."""
    told = found["rule"].is_not_null()
    if not told.any():
        return pl.DataFrame(schema=PROBLEM_SCHEMA)
    lines = found.filter(told)
    return (
        cells.select("file_id", "sheet_row")
        .filter(told)
        .with_columns(
            pl.lit(column).alias("column"),
            lines["text"].alias("value"),
            lines["rule"],
            lines["details"],
        )
    )


def row_problems(
    cells: pl.DataFrame, where: pl.Series, column: str, rule: str, details: pl.Series | None = None
) -> pl.DataFrame:
    """The problem frame of one rule on one column, for the rows where `where` is true. `details`, of the length
    of `cells`, holds JSON objects."""
    if not where.any():
        return pl.DataFrame(schema=PROBLEM_SCHEMA)
    value = (
        cells[column].fill_null("")
        if column in cells.columns
        else pl.Series([""]).new_from_index(0, cells.height)
    )
    return pl.DataFrame(
        [
            cells["file_id"],
            cells["sheet_row"],
            pl.Series("column", [column]).new_from_index(0, cells.height),
            value.alias("value"),
            pl.Series("rule", [rule]).new_from_index(0, cells.height),
            (details if details is not None else pl.Series(["{}"]).new_from_index(0, cells.height)).alias(
                "details"
            ),
        ]
    ).filter(where)


def _blank_cells(cells: pl.DataFrame, reader: ColumnReader) -> pl.DataFrame:
    write = pl.Series([details_text({"write": reader.write})]).new_from_index(0, cells.height)
    return row_problems(cells, cells[reader.column].is_null(), reader.column, "blank_cell", write)

"""How cells were read: per column the forms that were typed, what each was taken for, and on how many rows."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.check.findings import CELL, cell
from schemas.column import UNIT_KINDS, Column, Kept
from schemas.kinds.kind import SheetKind
from schemas.receipt import ColumnRead, FormRead
from schemas.trade.amounts import amount_in_words

MOST_FORMS = 12
"""So many forms of a column are given; the rest is counted."""
MOST_IN_TEXT = 4
READINGS_SCHEMA: dict[str, pl.DataType] = {
    "file_id": pl.UInt32(),
    "column": pl.String(),
    "typed": pl.String(),
    "read": pl.String(),
    "rows": pl.UInt32(),
    "forms": pl.UInt32(),
    "cells": pl.UInt32(),
}
"""One line per form that is given; `forms` and `cells` count those of the whole column."""
_BY_VALUE = ("date", "parts", "one part", *UNIT_KINDS)


@dataclass(frozen=True)
class _Echoed:
    """A sheet column whose cells are echoed, and the kept column that they became."""

    column: Column
    kept: Kept


@functools.cache
def _echoed(kind: SheetKind) -> tuple[_Echoed, ...]:
    kept = {one.name: one for one in kind.kept}
    return tuple(
        _Echoed(column, kept[column.becomes])
        for column in kind.columns
        if column.kind in _BY_VALUE and column.becomes in kept
    )


def readings_of(accepted: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """The readings of accepted rows of one kind, which still hold their cells as typed (`READINGS_SCHEMA`); by file,
    in the sheet's order of columns."""
    frames = [_of_column(accepted, echoed, place) for place, echoed in enumerate(_echoed(kind))]
    filled = [frame for frame in frames if frame.height]
    if not filled:
        return pl.DataFrame(schema=READINGS_SCHEMA)
    together = pl.concat(filled).sort("file_id", "place", maintain_order=True)
    return together.select(list(READINGS_SCHEMA)).cast(READINGS_SCHEMA)  # type: ignore[arg-type]


def _of_column(accepted: pl.DataFrame, echoed: _Echoed, place: int) -> pl.DataFrame:
    """The forms of one column that are given, each file's extremes first, then forms of a rare shape."""
    name = echoed.column.name
    if CELL + name not in accepted.columns or accepted[CELL + name].null_count() == accepted.height:
        return pl.DataFrame()
    shape = pl.col("typed").str.replace_all("[0-9]+", "0")
    forms = (
        accepted.lazy()
        .select("file_id", typed=cell(name), value=pl.col(echoed.kept.name))
        .drop_nulls()
        .group_by("file_id", "typed", "value", maintain_order=True)
        .agg(rows=pl.len())
        .with_columns(
            forms=pl.len().over("file_id"),
            cells=pl.col("rows").sum().over("file_id"),
            of_shape=pl.col("rows").sum().over("file_id", shape),
            smallest=pl.col("value").rank("ordinal").over("file_id"),
            largest=pl.col("value").rank("ordinal", descending=True).over("file_id"),
        )
        .with_columns(inner=~((pl.col("smallest") == 1) | (pl.col("largest") == 1)))
        .sort("file_id", "inner", "of_shape", "rows", "smallest", maintain_order=True)
        .group_by("file_id", maintain_order=True)
        .head(MOST_FORMS)
        .collect()
    )
    read = [_in_words(value, echoed.kept.unit) for value in forms["value"]]
    return forms.with_columns(
        column=pl.lit(name), read=pl.Series(read, dtype=pl.String), place=pl.lit(place)
    ).drop("value", "of_shape", "smallest", "largest", "inner")


def _in_words(value: float | date, unit: str) -> str:
    return value.isoformat() if isinstance(value, date) else amount_in_words(value, unit)


def readings_by_file(readings: pl.DataFrame) -> dict[int, list[ColumnRead]]:
    """By file_id, how each of its columns was read."""
    by_file: dict[int, list[ColumnRead]] = {}
    for line in readings.iter_rows(named=True):
        columns = by_file.setdefault(line["file_id"], [])
        if not columns or columns[-1]["column"] != line["column"]:
            columns.append(
                {
                    "column": line["column"],
                    "forms": [],
                    "more_forms": line["forms"],
                    "more_rows": line["cells"],
                }
            )
        column = columns[-1]
        column["forms"].append({"typed": line["typed"], "read": line["read"], "rows": line["rows"]})
        column["more_forms"] -= 1
        column["more_rows"] -= line["rows"]
    return by_file


def readings_in_sentences(columns: Sequence[ColumnRead]) -> Mapping[str, str]:
    """By column, its readings as one line of text; columns whose cells say what was read are left out."""
    sentences: dict[str, str] = {}
    for column in columns:
        forms = column["forms"]
        if column["more_forms"] == 0 and all(_same_text(form) for form in forms):
            continue
        given = forms[:MOST_IN_TEXT]
        rest = forms[MOST_IN_TEXT:]
        pieces = [f"{form['typed']} = {form['read']}{_on_rows(form['rows'])}" for form in given]
        more = len(rest) + column["more_forms"]
        if more:
            rows = sum(form["rows"] for form in rest) + column["more_rows"]
            pieces.append(f"{more} more {'form' if more == 1 else 'forms'}{_on_rows(rows)}")
        sentences[column["column"]] = "; ".join(pieces)
    return sentences


def _same_text(form: FormRead) -> bool:
    return form["typed"].replace(" ", "") == form["read"].replace(" ", "")


def _on_rows(rows: int) -> str:
    return f" ({rows} rows)" if rows > 1 else ""

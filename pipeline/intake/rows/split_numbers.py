"""Rows that an unquoted decimal comma shifted by one cell, where the last cell was left out: `205,5,18` under time,
temperature and taps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import polars as pl

from pipeline.intake.files.headings import Headings
from pipeline.intake.files.table import TextTable
from pipeline.intake.received import Finding, problem_frame
from schemas.column import UNIT_KINDS
from schemas.kinds.kind import SheetKind
from schemas.units import Unit


def split_numbers(rows: pl.DataFrame, tables: Mapping[int, TextTable], kind: SheetKind) -> pl.DataFrame:
    """The problem frame of rows whose cells fit those of the other rows better one place to the left, from a bare
    number and the one or two digits behind it on."""
    layouts: dict[tuple[str, ...], list[int]] = {}
    for file_id, table in tables.items():
        if table.separator == "," and table.headings.complete:
            layouts.setdefault(_names(table.headings), []).append(file_id)
    found: list[tuple[int, Finding]] = []
    for names, file_ids in layouts.items():
        heading = tables[file_ids[0]].headings
        for at in _where_numbers_may_split(names, heading, kind):
            found.extend(_shifted(rows.filter(pl.col("file_id").is_in(file_ids)), names[at:]))
    return problem_frame(found)


def _names(headings: Headings) -> tuple[str, ...]:
    """The columns by position; "" where a heading names none."""
    names = [""] * headings.width
    for name, position in headings.positions.items():
        names[position] = name
    return tuple(names)


def _where_numbers_may_split(names: Sequence[str], headings: Headings, kind: SheetKind) -> list[int]:
    """Positions of bare numbers under a heading with a unit, with another column behind, all known to the end."""
    with_unit = {column.name for column in kind.columns if column.kind in UNIT_KINDS}
    return [
        at
        for at, name in enumerate(names[:-1])
        if name in with_unit and isinstance(headings.says[name].unit, Unit) and all(names[at:])
    ]


def _shifted(rows: pl.DataFrame, names: Sequence[str]) -> list[tuple[int, Finding]]:
    """The rows that fit better with the first two of these columns joined and the others moved to the left."""
    first, second = names[0], names[1]
    digits = pl.col(first).str.contains(r"^[0-9]+$") & pl.col(second).str.contains(r"^[0-9]{1,2}$")
    odd = pl.len().over("file_id", second) == 1
    suspects = rows.filter((digits & odd).fill_null(False))
    found = []
    for suspect in suspects.iter_rows(named=True):
        others = rows.filter(
            (pl.col("file_id") == suspect["file_id"]) & (pl.col("sheet_row") != suspect["sheet_row"])
        )
        known = [set(others[name].drop_nulls()) for name in names[1:]]
        cells = [suspect[name] for name in names[1:]]
        as_it_stands = sum(cell in column for cell, column in zip(cells, known, strict=True))
        moved = sum(cell in column for cell, column in zip(cells[1:], known[:-1], strict=True))
        if moved > as_it_stands:
            number = f"{suspect[first]},{suspect[second]}"
            details = {"point": number.replace(",", ".")}
            found.append(
                (
                    suspect["file_id"],
                    Finding("comma_splits_number", details, suspect["sheet_row"], first, number),
                )
            )
    return found

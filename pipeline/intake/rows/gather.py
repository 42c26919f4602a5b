"""Rows of many files into one frame of cells: split all at once where lines are plain, record by record elsewhere.

Both ways give the same frame: `file_id`, `sheet_row`, `cell_count` (cells that the line had), `surplus` (what
stood right of the heading's last cell), `unnamed` (whether a cell without a heading was filled), and one text
column per sheet column, trimmed, null where blank. Rows with only empty cells are left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import polars as pl

from pipeline.intake.characters import SPACES
from pipeline.intake.files.headings import Headings
from pipeline.intake.files.table import TextTable
from schemas.column import OwnHeadings

FEWEST_FILES, FEWEST_CHARACTERS = 8, 400_000
"""From so many files with one heading line, or from so much text, splitting all at once is the quicker way."""

ROW_COLUMNS: dict[str, pl.DataType] = {
    "file_id": pl.UInt32(),
    "sheet_row": pl.UInt32(),
    "cell_count": pl.UInt32(),
    "surplus": pl.String(),
    "unnamed": pl.Boolean(),
}


def gather(tables: Sequence[tuple[int, TextTable]]) -> pl.DataFrame:
    """The cells of all tables, each with the id of its file, by file and row."""
    groups: dict[tuple[str, str, OwnHeadings], list[tuple[int, TextTable]]] = {}
    one_by_one: list[tuple[int, TextTable]] = []
    for file_id, table in tables:
        if table.body is None:
            one_by_one.append((file_id, table))
        else:
            groups.setdefault((table.separator, table.heading_line, table.headings.own), []).append(
                (file_id, table)
            )
    frames = []
    for group in groups.values():
        if (
            len(group) >= FEWEST_FILES
            or sum(len(table.body or "") for _, table in group) >= FEWEST_CHARACTERS
        ):
            frames.append(split_together(group))
        else:
            one_by_one.extend(group)
    if one_by_one:
        frames.append(split_one_by_one(one_by_one))
    above = [(file_id, table) for file_id, table in tables if table.above]
    if above:
        frames.append(split_above(above))
    cells = [_tidy(frame) for frame in frames]
    together = pl.concat(cells, how="diagonal") if cells else pl.DataFrame(schema=ROW_COLUMNS)
    return together.sort("file_id", "sheet_row")


def split_together(group: Sequence[tuple[int, TextTable]]) -> pl.DataFrame:
    """The untrimmed cells of plain tables that share one heading line and separator."""
    first = group[0][1]
    headings, separator = first.headings, first.separator
    lines = _lines(group).filter(pl.col("line").str.strip_chars(SPACES + separator) != "")
    count = pl.col("line").str.count_matches(separator, literal=True) + 1
    lines = lines.with_columns(cell_count=count.cast(pl.UInt32))
    fields = lines["line"].str.split_exact(separator, headings.width - 1).struct.unnest()
    columns = fields.columns
    named = {columns[at]: name for name, at in headings.positions.items()}
    unnamed = [_filled(fields[columns[at]]) for at in headings.unnamed]
    return pl.DataFrame(
        [
            lines["file_id"],
            lines["sheet_row"],
            lines["cell_count"],
            _surplus_of_long_lines(lines, separator, headings.width),
            _any(unnamed, lines.height),
            *(fields[column].alias(name) for column, name in named.items()),
        ]
    )


def _lines(group: Sequence[tuple[int, TextTable]]) -> pl.DataFrame:
    """Every line below the headings, with its file and its spreadsheet row."""
    bodies = pl.DataFrame(
        {
            "file_id": pl.Series([file_id for file_id, _ in group], dtype=pl.UInt32),
            "first": pl.Series([table.heading_row + 1 for _, table in group], dtype=pl.UInt32),
            "line": [table.body for _, table in group],
        }
    )
    split = bodies.with_columns(pl.col("line").str.split("\n"))
    return split.select(
        "file_id",
        sheet_row=pl.int_ranges(
            pl.col("first"), pl.col("first") + pl.col("line").list.len(), dtype=pl.UInt32
        ),
        line="line",
    ).explode("sheet_row", "line")


def _filled(cells: pl.Series) -> pl.Series:
    return (cells.str.strip_chars(SPACES) != "").fill_null(False)


def _any(flags: Sequence[pl.Series], height: int) -> pl.Series:
    together = pl.Series("unnamed", [False], dtype=pl.Boolean).new_from_index(0, height)
    for flag in flags:
        together = together | flag
    return together.alias("unnamed")


def _surplus_of_long_lines(lines: pl.DataFrame, separator: str, width: int) -> pl.Series:
    """What stands right of the heading's last cell, for the few lines that are longer."""
    if not (lines["cell_count"] > width).any():
        return pl.Series("surplus", [None], dtype=pl.String).new_from_index(0, lines.height)
    told = [
        _surplus(line.split(separator), width) if count > width else None
        for line, count in lines.select("line", "cell_count").iter_rows()
    ]
    return pl.Series("surplus", told, dtype=pl.String)


def _surplus(record: Sequence[str], width: int) -> str | None:
    """The filled cells beyond the heading, one after another; None where all are empty."""
    beyond = [cell.strip(SPACES) for cell in record[width:]]
    return ", ".join(cell for cell in beyond if cell) or None


def split_one_by_one(tables: Iterable[tuple[int, TextTable]]) -> pl.DataFrame:
    """The untrimmed cells of tables, each split by itself."""
    rows = _RowLists()
    for file_id, table in tables:
        records = table.records
        if table.body is not None:
            records = [line.split(table.separator) for line in table.body.split("\n")]
        rows.add(file_id, table.heading_row, table.headings, records)
    return rows.frame()


def split_above(tables: Iterable[tuple[int, TextTable]]) -> pl.DataFrame:
    """The untrimmed cells of rows that stand above the heading of their table."""
    rows = _RowLists()
    for file_id, table in tables:
        rows.add(file_id, 0, table.headings, table.above)
    return rows.frame()


class _RowLists:
    """Cells of file after file in one list per sheet column."""

    def __init__(self) -> None:
        self.keys: dict[str, list[int | str | bool | None]] = {name: [] for name in ROW_COLUMNS}
        self.cells: dict[str, list[str | None]] = {}
        self.count = 0

    def add(
        self, file_id: int, heading_row: int, headings: Headings, records: Sequence[Sequence[str]]
    ) -> None:
        """Adds the records below the heading of one file."""
        width = headings.width
        kept: list[Sequence[str]] = []
        for row, record in enumerate(records, heading_row + 1):
            if not "".join(record).strip(SPACES):
                continue
            length = len(record)
            if length < width:
                record = [*record, *[""] * (width - length)]
            self.keys["file_id"].append(file_id)
            self.keys["sheet_row"].append(row)
            self.keys["cell_count"].append(length)
            self.keys["surplus"].append(_surplus(record, width) if length > width else None)
            self.keys["unnamed"].append(any(record[at].strip(SPACES) for at in headings.unnamed))
            kept.append(record)
        if kept:
            self._add_columns(headings, kept)

    def _add_columns(self, headings: Headings, kept: Sequence[Sequence[str]]) -> None:
        for name, position in headings.positions.items():
            if name not in self.cells:
                self.cells[name] = [None] * self.count
            self.cells[name].extend([record[position] for record in kept])
        self.count += len(kept)
        for column in self.cells.values():
            column.extend([None] * (self.count - len(column)))

    def frame(self) -> pl.DataFrame:
        """All cells so far."""
        return pl.DataFrame(
            [
                *(pl.Series(name, self.keys[name], dtype=kind) for name, kind in ROW_COLUMNS.items()),
                *(pl.Series(name, column, dtype=pl.String) for name, column in self.cells.items()),
            ]
        )


def _tidy(cells: pl.DataFrame) -> pl.DataFrame:
    """Cells trimmed of spaces of every kind, null where nothing is left."""
    names = [name for name in cells.columns if name not in ROW_COLUMNS]
    return cells.with_columns(pl.col(names).str.strip_chars(SPACES)).with_columns(
        pl.when(pl.col(name) != "").then(pl.col(name)).alias(name) for name in names
    )

"""Findings: what a rule has to say about rows, as rows of the problem frame that intake makes too."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import polars as pl

from schemas.columns import SHEET_COLUMNS

PROBLEM_SCHEMA: dict[str, pl.DataType] = {
    "file_id": pl.UInt32(),
    "sheet_row": pl.UInt32(),
    "column": pl.String(),
    "value": pl.String(),
    "rule": pl.String(),
    "details": pl.String(),
}
CELL = "cell_"
NO_DETAILS = "{}"


def no_findings() -> pl.DataFrame:
    """An empty problem frame."""
    return pl.DataFrame(schema=PROBLEM_SCHEMA)


def together(found: Sequence[pl.DataFrame]) -> pl.DataFrame:
    """One problem frame of many."""
    frames = [frame.select(PROBLEM_SCHEMA) for frame in found if frame.height]
    return pl.concat(frames) if frames else no_findings()


def cell(column: str) -> pl.Expr:
    """The cell of that sheet column as typed; null where it is blank or the sheet has no such column."""
    return pl.col(CELL + column)


@dataclass(frozen=True)
class RowRule:
    """A rule that each row can be asked alone: it speaks of `column` where `when` is true, and fills the
    catalogue's sentence from `details`."""

    id: str
    column: str
    when: pl.Expr
    details: Mapping[str, pl.Expr] = field(default_factory=dict)

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """A problem frame: one line per row that the rule has something to say about."""
        told = [expression.cast(pl.String).fill_null("").alias(name) for name, expression in self.details.items()]
        return (
            rows.lazy()
            .filter(self.when)
            .select(
                "file_id",
                "sheet_row",
                column=pl.lit(self.column),
                value=cell(self.column),
                rule=pl.lit(self.id),
                details=pl.struct(told).struct.json_encode() if told else pl.lit(NO_DETAILS),
            )
            .collect()
        )


@dataclass(frozen=True)
class Hit:
    """One finding about the row at `position` of a frame of sheet rows."""

    position: int
    column: str
    rule: str
    details: Mapping[str, str]


def from_hits(rows: pl.DataFrame, hits: Sequence[Hit]) -> pl.DataFrame:
    """A problem frame of findings that were made one by one; `rows` is the frame whose positions they name."""
    if not hits:
        return no_findings()
    told = pl.DataFrame(
        {
            "position": [hit.position for hit in hits],
            "column": [hit.column for hit in hits],
            "rule": [hit.rule for hit in hits],
            "details": [json.dumps(hit.details, ensure_ascii=False) for hit in hits],
        }
    )
    at = rows[told["position"].to_list(), ["file_id", "sheet_row"]]
    values = pl.Series("value", [None] * told.height, dtype=pl.String)
    for column in told["column"].unique():
        name = CELL + column
        if name in rows.columns:
            mine = told["column"] == column
            theirs = rows[name].gather(told["position"])
            values = pl.select(pl.when(mine).then(theirs).otherwise(values).alias("value")).to_series()
    return at.hstack([told["column"], values, told["rule"], told["details"]]).cast(PROBLEM_SCHEMA)


def sheet_rows(cells: pl.DataFrame, typed: pl.DataFrame) -> pl.DataFrame:
    """Every data row once: file_id, sheet_row, the converted values, and each cell as typed under `cell_`
    and its sheet column's name (null where no file has the column)."""
    names = [column.name for column in SHEET_COLUMNS]
    keys = ["file_id", "sheet_row"]
    as_typed = cells.select(
        *keys,
        *(
            (pl.col(name) if name in cells.columns else pl.lit(None, pl.String)).alias(CELL + name)
            for name in names
        ),
    )
    if cells.height == typed.height and cells.select(keys).equals(typed.select(keys)):
        return typed.hstack(as_typed.drop(keys).get_columns())
    return as_typed.join(typed, on=keys, how="left", maintain_order="left")


def held_keys(problems: pl.DataFrame, held_rules: Sequence[str]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """(file_id, sheet_row) of the rows and file_id of the whole files that a held rule speaks of."""
    held = problems.filter(pl.col("rule").is_in(list(held_rules)))
    rows = held.filter(pl.col("sheet_row").is_not_null()).select("file_id", "sheet_row").unique()
    files = held.filter(pl.col("sheet_row").is_null()).select("file_id").unique()
    return rows, files


def without_held(rows: pl.DataFrame, problems: pl.DataFrame, held_rules: Sequence[str]) -> pl.DataFrame:
    """The rows that no held rule speaks of, in their order."""
    held, files = held_keys(problems, held_rules)
    kept = rows
    if files.height:
        kept = kept.join(files, on="file_id", how="anti", maintain_order="left")
    if held.height:
        kept = kept.join(held, on=["file_id", "sheet_row"], how="anti", maintain_order="left")
    return kept

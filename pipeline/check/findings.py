"""Findings: what a rule has to say about rows, as rows of the problem frame that intake makes too."""

from __future__ import annotations

import functools
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

import polars as pl

from schemas.kinds.kind import SheetKind
from schemas.problems import PROBLEM_COLUMNS, PROBLEM_SCHEMA

CELL = "cell_"
NO_DETAILS = "{}"
BLANK = ""
"""The value of a blank cell in a finding about a row; a finding about a whole file has none (null)."""


@functools.cache
def no_findings() -> pl.DataFrame:
    """An empty problem frame."""
    return pl.DataFrame(schema=PROBLEM_SCHEMA)


def together(found: Sequence[pl.DataFrame]) -> pl.DataFrame:
    """One problem frame of many."""
    frames = [frame.select(PROBLEM_COLUMNS) for frame in found if frame.height]
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

    def applies_to(self, columns: Collection[str]) -> bool:
        """Whether rows with these columns can be asked: a kind of sheet that lacks one has no such rule."""
        asked = (self.when, *self.details.values())
        return all(name in columns for expression in asked for name in expression.meta.root_names())

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """A problem frame: one line per row that the rule has something to say about."""
        told = [
            expression.cast(pl.String).fill_null("").alias(name) for name, expression in self.details.items()
        ]
        return (
            rows.lazy()
            .filter(self.when)
            .select(
                "file_id",
                "sheet_row",
                column=pl.lit(self.column),
                value=cell(self.column).fill_null(BLANK),
                rule=pl.lit(self.id),
                details=pl.struct(told).struct.json_encode() if told else pl.lit(NO_DETAILS),
            )
            .collect()
        )


@dataclass(frozen=True)
class Hit:
    """One finding about the row with that `position` in a numbered frame of sheet rows."""

    position: int
    column: str
    rule: str
    details: Mapping[str, str]


def from_hits(rows: pl.DataFrame, hits: Sequence[Hit]) -> pl.DataFrame:
    """A problem frame of findings that were made one by one about rows of this numbered frame."""
    if not hits:
        return no_findings()
    told = pl.DataFrame(
        {
            "position": [hit.position for hit in hits],
            "column": [hit.column for hit in hits],
            "rule": [hit.rule for hit in hits],
            "details": [json.dumps(hit.details, ensure_ascii=False) for hit in hits],
        },
        schema_overrides={"position": rows.schema["position"]},
    )
    columns = told["column"].unique().to_list()
    known = rows.select("position", "file_id", "sheet_row", *(cell(column) for column in columns))
    at = told.join(known, on="position", how="left", maintain_order="left")
    value = pl.coalesce(pl.when(pl.col("column") == column).then(cell(column)) for column in columns)
    return at.with_columns(value=value.fill_null(BLANK)).select(PROBLEM_COLUMNS).cast(PROBLEM_SCHEMA)  # type: ignore[arg-type]


def sheet_rows(
    files: pl.DataFrame, cells: pl.DataFrame, typed: pl.DataFrame, kind: SheetKind
) -> pl.DataFrame:
    """Every data row once: file_id, sheet_row, the converted values, the `submission` of its file, and each
    cell as typed under `cell_` and its sheet column's name (null where no file has the column)."""
    keys = ["file_id", "sheet_row"]
    as_typed = cells.select(
        *keys,
        *(
            (pl.col(name) if name in cells.columns else pl.lit(None, pl.String)).alias(CELL + name)
            for name in kind.by_name
        ),
    )
    values = typed.drop("submission", strict=False)
    if cells.select(keys).equals(typed.select(keys)):
        rows = values.hstack(as_typed.drop(keys).get_columns())
    else:
        rows = as_typed.join(values, on=keys, how="left", maintain_order="left")
    return rows.join(files.select("file_id", "submission"), on="file_id", how="left", maintain_order="left")

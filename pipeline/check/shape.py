"""The last gate: pandera over every row that would be accepted. The only room of the stage that knows it.

The rules before it are meant to catch all; what it still finds is a fault of theirs, and becomes a worded
finding that holds the row, never a library's message.
"""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from pipeline.check.findings import RowRule, no_findings, together
from schemas.frame_types import polars_type
from schemas.kinds.kind import SheetKind


def row_schema(kind: SheetKind) -> dict[str, pl.DataType]:
    """Columns and types of the frame of accepted rows of that kind."""
    return {"file_id": pl.UInt32(), **{kept.name: polars_type(kept.frame) for kept in kind.kept}}


def as_runs(rows: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """file_id and the kind's frame of accepted rows, in its fixed order of columns."""
    return rows.select(pl.col(name).cast(dtype) for name, dtype in row_schema(kind).items())


@dataclass(frozen=True)
class Shape:
    """Does each row fit the model of its kind?"""

    kind: SheetKind
    id: str = "does_not_fit"

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Held findings on rows that the model refuses. Raises ValueError where the frame as a whole is not
        of the model's form, which no member can mend."""
        from schemas.row_model import expected

        misfits = _misfits(as_runs(rows, self.kind).drop("file_id"), self.kind)
        found = [no_findings()]
        for (name,), at in misfits.group_by("column", maintain_order=True):
            told = {"expected": pl.lit(expected(self.kind, str(name)))}
            rule = RowRule(self.id, self.kind.sheet_name(str(name)), pl.lit(True), told)
            found.append(rule.find(rows[at["index"].unique().sort().to_list()]))
        return together(found)


def _misfits(runs: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """column (of the run frame) and index (row position) of everything that the model refuses."""
    nothing = pl.DataFrame(schema={"column": pl.String, "index": pl.Int64})
    if not runs.height:
        return nothing
    from pandera.errors import SchemaErrors

    from schemas.row_model import row_model

    blank = frozenset(name for name in runs.columns if runs[name].null_count() == runs.height)
    model = row_model(kind, blank)
    try:
        model.validate(runs.select(model.columns.keys()), lazy=True)
    except SchemaErrors as errors:
        cases: pl.DataFrame = errors.failure_cases
    else:
        return nothing
    if cases["index"].null_count():
        raise ValueError("the frame of rows is not of the model's form")
    between = pl.col("schema_context") == "DataFrameSchema"
    named = pl.when(between).then(pl.col("check")).otherwise(pl.col("column"))
    return cases.select(column=named, index=pl.col("index").cast(pl.Int64))

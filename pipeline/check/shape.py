"""The last gate: pandera over every row that would be accepted. The only room of the stage that knows it.

The rules before it are meant to catch all; what it still finds is a fault of theirs, and becomes a worded
finding that holds the row, never a library's message.
"""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from pipeline.check.findings import RowRule, no_findings, sheet_name, together
from schemas.columns import RUN_COLUMNS

_TYPES = {"text": pl.String, "date": pl.Date, "number": pl.Float64, "whole": pl.Int64, "flag": pl.Boolean}


def as_runs(rows: pl.DataFrame) -> pl.DataFrame:
    """file_id and the canonical run frame, in its fixed order of columns."""
    return rows.select(
        pl.col("file_id").cast(pl.UInt32),
        *(pl.col(column.name).cast(_TYPES[column.frame]) for column in RUN_COLUMNS),
    )


@dataclass(frozen=True)
class Shape:
    """Does each row fit the model of the run sheet?"""

    id: str = "does_not_fit"

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Held findings on rows that the model refuses. Raises ValueError where the frame as a whole is not
        of the model's form, which no member can mend."""
        from schemas.run_sheet import expected

        misfits = _misfits(as_runs(rows).drop("file_id"))
        sheet_names = {column.name: sheet_name(column) for column in RUN_COLUMNS}
        found = [no_findings()]
        for (name,), at in misfits.group_by("column", maintain_order=True):
            told = {"expected": pl.lit(expected(str(name)))}
            rule = RowRule(self.id, sheet_names[str(name)], pl.lit(True), told)
            found.append(rule.find(rows[at["index"].unique().sort().to_list()]))
        return together(found)


def _misfits(runs: pl.DataFrame) -> pl.DataFrame:
    """column (of the run frame) and index (row position) of everything that the model refuses."""
    nothing = pl.DataFrame(schema={"column": pl.String, "index": pl.Int64})
    if not runs.height:
        return nothing
    from pandera.errors import SchemaErrors

    from schemas.run_sheet import run_sheet

    blank = frozenset(name for name in runs.columns if runs[name].null_count() == runs.height)
    model = run_sheet(blank)
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

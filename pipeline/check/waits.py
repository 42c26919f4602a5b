"""Which accepted rows wait for an answer, told anew once a pool is known beside the sheet."""

from __future__ import annotations

import json
from dataclasses import replace

import polars as pl

from pipeline.check.findings import BLANK
from pipeline.check.pace import UNLIKE, equal_details, far_details
from pipeline.check.steps import Checked
from pipeline.check.wording import worded
from schemas.kinds.run import RUN
from schemas.problems import PROBLEM_SCHEMA
from schemas.rules.waits import RUN_WAITS, WAITING_RULES


def waiting_rows(checked: Checked) -> pl.DataFrame:
    """file_id and sheet_row of the accepted rows that wait."""
    asked = checked.problems.filter(pl.col("rule").is_in(WAITING_RULES))
    sheet_row = pl.col("row").cast(checked.accepted.schema["sheet_row"]).alias("sheet_row")
    return asked.select("file_id", sheet_row).unique(maintain_order=True)


def beside_a_pool(checked: Checked, waiting: pl.DataFrame) -> Checked:
    """The same check with the rows that wait beside the pool, in place of those that would wait alone.

    waiting: file_id, sheet_row, series, and what is asked: rule, the columns of `far_off`, the earlier series."""
    rows = ["file_id", "sheet_row"]
    asked = waiting.join(checked.cells_asked, on=rows, how="left", maintain_order="left")
    lines = [
        {
            **{name: run[name] for name in (*rows, "rule")},
            "column": run["column"] if run["rule"] == RUN_WAITS else "series",
            "value": (run[f"{run['column']}_typed"] if run["rule"] == RUN_WAITS else run["series"]) or BLANK,
            "details": json.dumps(
                far_details(run) if run["rule"] == RUN_WAITS else equal_details(run), ensure_ascii=False
            ),
        }
        for run in asked.iter_rows(named=True)
    ]
    problems = worded(pl.DataFrame(lines, schema=PROBLEM_SCHEMA), checked.files, RUN)
    answered = pl.col("rule").is_in(WAITING_RULES)
    waits_now = problems.select("file_id", "row", rule=pl.lit(UNLIKE))
    others = checked.problems.filter(~answered).join(
        waits_now, on=["file_id", "row", "rule"], how="anti", maintain_order="left"
    )
    together = pl.concat([others, problems]).sort("file_id", "row", nulls_last=False, maintain_order=True)
    return replace(checked, problems=together)

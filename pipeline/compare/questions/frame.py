"""Questions for the coordinator as a frame: which run, series or grower looks unlike the others, and why perhaps.

Private: these name members and never stand in `results.json` or on a page.
"""

from __future__ import annotations

import numpy as np
import polars as pl

from pipeline.compare.questions.slips import slip_findings
from pipeline.compare.verdict.answer import Answer
from schemas.trade.headline import FRESH_POUR

QUESTION_COLUMNS = {
    "component": pl.String,
    "kind": pl.String,
    "member": pl.String,
    "series": pl.String,
    "component_share": pl.Float64,
    "submission": pl.String,
    "sheet_row": pl.Int64,
    "score": pl.Float64,
    "factor": pl.Float64,
    "sentence": pl.String,
}


def questions_frame(given: Answer, chosen: pl.DataFrame, component: str) -> pl.DataFrame:
    """One row per question, the largest score first."""
    timed = chosen.filter((pl.col("ended") == "reached") & (pl.col("pour_no") == FRESH_POUR))
    findings = slip_findings(
        given,
        timed["series_code"].to_numpy().astype(np.int64),
        timed["merged"].to_numpy().astype(np.float64),
        np.log(timed["rate_ml_min_l"].to_numpy().astype(np.float64)),
    )
    members = dict(chosen.select("member_code", "member").unique("member_code", keep="first").iter_rows())
    series = dict(chosen.select("series_code", "series").unique("series_code", keep="first").iter_rows())
    rows = []
    for finding in findings:
        run = None if finding.run is None else timed.row(finding.run, named=True)
        rows.append(
            {
                "component": component,
                "kind": finding.kind,
                "member": members[finding.member],
                "series": None if finding.series is None else series[finding.series],
                "component_share": None if run is None else run["component_share"],
                "submission": None if run is None else run["submission"],
                "sheet_row": None if run is None else run["sheet_row"],
                "score": finding.score,
                "factor": finding.factor,
                "sentence": finding.sentence,
            }
        )
    table = pl.DataFrame(rows, schema=QUESTION_COLUMNS)
    return table.sort(pl.col("score").abs(), descending=True, maintain_order=True)

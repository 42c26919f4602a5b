"""Which rows wait is told anew beside a pool, in place of what the sheet alone would say."""

from __future__ import annotations

import polars as pl

from pipeline.check.waits import beside_a_pool, waiting_rows
from tests.unit.check.sheets import base, check, mix

ALONE = [base(), mix(), mix(pot_no=2), mix(pot_no=3, drain_time_s=12300.0)]
ASKED = {
    "file_id": 0,
    "sheet_row": 3,
    "series": "bench A",
    "rule": "run_waits",
    "times": 10.0,
    "too_fast": True,
    "factor": 10.0,
    "column": "drain_time",
    "usual": 2050.0,
    "earlier_member": None,
    "earlier_series": None,
}
SCHEMA = {"file_id": pl.UInt32, "sheet_row": pl.UInt32}


def test_the_pool_decides_which_rows_wait() -> None:
    checked = check(*ALONE)
    assert waiting_rows(checked).rows() == [(0, 5)]
    beside = beside_a_pool(checked, pl.DataFrame([ASKED], schema_overrides=SCHEMA))
    assert waiting_rows(beside).rows() == [(0, 3)]
    (line,) = beside.problems.filter(rule="run_waits").iter_rows(named=True)
    assert (line["row"], line["column"], line["value"]) == (3, "drain_time", "205 s")
    assert "about 10 times shorter" in line["message"] and "about 34 min" in line["message"]
    nothing = beside_a_pool(checked, pl.DataFrame([ASKED], schema_overrides=SCHEMA).clear())
    assert waiting_rows(nothing).is_empty()


def test_a_row_that_waits_beside_the_pool_is_not_asked_about_twice() -> None:
    checked = check(base(), mix(), mix(pot_no=2), mix(pot_no=3, drain_time_s=205.0 * 300))
    assert "time_unlike_series" in checked.problems["rule"].to_list()
    beside = beside_a_pool(checked, pl.DataFrame([{**ASKED, "sheet_row": 5}], schema_overrides=SCHEMA))
    assert "time_unlike_series" not in beside.problems["rule"].to_list()

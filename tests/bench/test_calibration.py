"""The calibration bench itself, tried on a few pools: `pytest tests/bench/test_calibration.py`."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
calibration = importlib.import_module("calibration")
MEMBERS = importlib.import_module("calibration_pools").MEMBERS


def test_the_fraction_holds_every_level_in_five_rows_or_more():
    rows = calibration.rows()
    assert 40 <= len(rows) <= 50
    for field in ("complication", "structure", "truth", "repeated"):
        levels = [getattr(row, field) for row in rows]
        assert min(levels.count(level) for level in set(levels)) >= 5
    assert all(sum(row.members == members for row in rows) >= 5 for members in MEMBERS)


@pytest.mark.parametrize("row", calibration.rows(), ids=lambda row: f"{row.complication}-{row.members}")
def test_a_pool_of_every_row_can_be_compared(row):
    record = calibration.one_pool(row, 0)
    assert all(0 <= line["p"] <= 1 for line in record["shares"])


def test_a_stopped_run_goes_on_where_it_ended(tmp_path):
    row = calibration.rows()[1]
    calibration.run_row(row, tmp_path, 2)
    before = calibration.read_records(tmp_path / "row-01.jsonl")
    calibration.run_row(row, tmp_path, 3)
    after = calibration.read_records(tmp_path / "row-01.jsonl")
    same = [{key: value for key, value in one.items() if key != "seconds"} for one in after]
    assert [{key: value for key, value in one.items() if key != "seconds"} for one in before] == same[:2]
    assert len(after) == 3
    assert calibration.summary(row, after)["pools"] == 3


def test_the_table_is_text_with_a_line_for_each_row_and_each_tenth(tmp_path, capsys):
    calibration.main([str(tmp_path), "--pools", "2", "--rows", "1,6"])
    rows, tenths = capsys.readouterr().out.strip().split("\n\n")
    assert len(rows.splitlines()) == 4
    assert len(tenths.splitlines()) >= 4

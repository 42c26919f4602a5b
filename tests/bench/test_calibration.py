"""The calibration bench itself, tried on a few pools: `pytest tests/bench/test_calibration.py`."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench import calibration
from tests.bench.calibration_pools import MEMBERS, Row, rows


def test_the_fraction_holds_every_level_in_five_rows_or_more() -> None:
    every_row = rows()
    assert 40 <= len(every_row) <= 50
    for field in ("complication", "structure", "truth", "repeated"):
        levels = [getattr(row, field) for row in every_row]
        assert min(levels.count(level) for level in set(levels)) >= 5
    assert all(sum(row.members == members for row in every_row) >= 5 for members in MEMBERS)


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row.complication}-{row.members}")
def test_a_pool_of_every_row_can_be_compared(row: Row) -> None:
    record = calibration.one_pool(row, 0)
    assert all(0 <= line["p"] <= 1 for line in record["shares"])


def test_a_stopped_run_goes_on_where_it_ended(tmp_path: Path) -> None:
    row = rows()[1]
    calibration.run_row(row, tmp_path, 2)
    before = calibration.read_records(tmp_path / "row-01.jsonl")
    calibration.run_row(row, tmp_path, 3)
    after = calibration.read_records(tmp_path / "row-01.jsonl")
    same = [{key: value for key, value in one.items() if key != "seconds"} for one in after]
    assert [{key: value for key, value in one.items() if key != "seconds"} for one in before] == same[:2]
    assert len(after) == 3
    assert calibration.summary(row, after)["pools"] == 3


def test_the_table_is_text_with_a_line_for_each_row_and_each_tenth(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    calibration.main([str(tmp_path), "--pools", "2", "--rows", "1,6"])
    by_row, tenths = capsys.readouterr().out.strip().split("\n\n")
    assert len(by_row.splitlines()) == 4
    assert len(tenths.splitlines()) >= 4

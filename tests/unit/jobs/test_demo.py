"""The demo's pool: invented and said so, never over a pool of one's own, the same sheets at the same moments."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.errors import DrainpoolError
from pipeline.jobs.demo import make_demo_pool, moment_of_sheet, put_samples_in_inbox
from pipeline.jobs.pool_view import is_invented, is_pool
from pipeline.jobs.receiving.checking import pool_settings
from pipeline.jobs.receiving.inbox import read_beside
from pipeline.jobs.samples import demo_months, demo_sheets
from pipeline.load.truth.moments import month_end, month_of


def made(folder: Path) -> Path:
    make_demo_pool(folder, "tests", lambda _line: None)
    return folder


def test_a_demo_pool_says_that_it_is_invented(tmp_path: Path) -> None:
    pool = made(tmp_path / "demo")
    assert is_pool(pool) and is_invented(pool)
    assert pool_settings(pool).pool_name == "The invented federation"


def test_made_again_it_stays_as_it_is(tmp_path: Path) -> None:
    pool = made(tmp_path / "demo")
    journal = (pool / "journal.jsonl").read_bytes()
    made(pool)
    assert (pool / "journal.jsonl").read_bytes() == journal


def test_a_pool_of_ones_own_is_left_alone(pool: Path) -> None:
    before = {path: path.read_bytes() for path in sorted(pool.rglob("*")) if path.is_file()}
    with pytest.raises(DrainpoolError, match="pool of your own"):
        made(pool)
    assert {path: path.read_bytes() for path in sorted(pool.rglob("*")) if path.is_file()} == before


def test_a_folder_with_other_files_is_refused_and_keeps_them(tmp_path: Path) -> None:
    (tmp_path / "thesis.docx").write_bytes(b"x")
    with pytest.raises(DrainpoolError):
        made(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["thesis.docx"]


def test_samples_lie_in_the_inbox_with_moments_of_their_month(tmp_path: Path) -> None:
    pool, month = made(tmp_path / "demo"), demo_months()[0]
    count = put_samples_in_inbox(pool, month)
    sheets = demo_sheets(month)
    assert count == len(sheets) > 5
    for place, (name, content) in enumerate(sheets):
        assert (pool / "inbox" / name).read_bytes() == content
        assert read_beside(pool / "inbox" / name).moment == moment_of_sheet(month, place)


MONTHS = st.datetimes(datetime(1990, 1, 1), datetime(2080, 1, 1)).map(lambda day: f"{day:%Y-%m}")


@given(MONTHS, st.integers(0, 5000))
def test_sheets_come_in_within_their_month_in_order(month: str, place: int) -> None:
    moment = moment_of_sheet(month, place)
    assert month_of(moment) == month
    assert moment <= moment_of_sheet(month, place + 1) <= month_end(month)

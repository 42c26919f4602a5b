"""What lies in the inbox, and what is written beside it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from pipeline.errors import DrainpoolError
from pipeline.jobs.demo import moment_of_sheet
from pipeline.jobs.receiving.inbox import Beside, TakenIn, read_beside, waiting


def test_sheets_wait_in_order_and_other_files_are_named(tmp_path: Path) -> None:
    inbox = tmp_path / "inbox"
    inbox.mkdir()
    for name in ("b.csv", "a.xlsx", "a.xlsx.received", "photo.jpg", ".DS_Store", "1.request.json"):
        (inbox / name).write_text("")
    said: list[str] = []
    assert waiting(tmp_path, said.append) == ["a.xlsx", "b.csv"]
    assert len(said) == 1 and "photo.jpg" in said[0]


def test_no_inbox_is_an_empty_one(tmp_path: Path) -> None:
    assert waiting(tmp_path, lambda _: None) == []


def test_moment_and_name_beside_a_sheet(tmp_path: Path) -> None:
    sheet = tmp_path / "a.csv"
    assert read_beside(sheet) == Beside()
    (tmp_path / "a.csv.received").write_text("2026-03-14T09:26:53Z\n")
    assert read_beside(sheet) == Beside(datetime(2026, 3, 14, 9, 26, 53, tzinfo=UTC))
    (tmp_path / "a.csv.received").write_text('2026-03-14T09:26:53Z\n{"file": "März.csv", "by": "x"}\n')
    assert read_beside(sheet).file == "März.csv"


@pytest.mark.parametrize(
    "text", ["", "yesterday", "2026-03-14", '2026-03-14T09:26:53Z\n{"by": 1}', "2026-03-14T09:26:53Z\n[1]"]
)
def test_what_cannot_be_read_beside_a_sheet_is_worded(text: str, tmp_path: Path) -> None:
    (tmp_path / "a.csv.received").write_text(text)
    with pytest.raises(DrainpoolError, match=r"a\.csv\.received"):
        read_beside(tmp_path / "a.csv")


def test_batches_add_up() -> None:
    both = TakenIn(2, 10, 1, 1, 0, 0) + TakenIn(1, 5, 0, 0, 1, 2)
    assert both == TakenIn(3, 15, 1, 1, 1, 2)


def test_demo_sheets_come_in_within_their_month() -> None:
    moments = [moment_of_sheet("2026-04", place) for place in range(400)]
    assert moments == sorted(moments)
    assert moments[0].month == 4 and moments[-1] == datetime(2026, 4, 30, 23, 59, 59, tzinfo=UTC)

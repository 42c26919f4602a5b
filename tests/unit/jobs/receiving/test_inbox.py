"""What lies in the inbox, and what is written beside it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from pipeline.errors import DrainpoolError
from pipeline.jobs.decisions.requests import leave_sheet
from pipeline.jobs.demo import moment_of_sheet
from pipeline.jobs.receiving.checking import now
from pipeline.jobs.receiving.inbox import Beside, TakenIn, read_beside, take_in, waiting
from tests.story.pool_fixture import small_sheet


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


@pytest.mark.parametrize("mark", ["\u2028", "\u2029", "\u0085", "\x0b", "\x1c"])
def test_a_file_name_that_holds_a_line_mark_stays_one_name(mark: str, tmp_path: Path) -> None:
    name = leave_sheet(
        tmp_path, b"member\n", f"my{mark}tests.csv", "fen-07", datetime(2026, 3, 14, tzinfo=UTC), "aa"
    )
    assert read_beside(tmp_path / "inbox" / name).file == f"my{mark}tests.csv"


@pytest.mark.parametrize(
    "beside",
    [b"yesterday\n", b"\xff\xfe\x00", b'2026-03-14T09:26:53Z\n{"file": 7}\n', b'2026-03-14T09:26:53Z\n{"file": "a.csv", "columns": {"a": 1}}\n'],
)  # fmt: skip
def test_a_broken_neighbour_stops_its_own_sheet_only(beside: bytes, tmp_path: Path) -> None:
    inbox = tmp_path / "pool" / "inbox"
    inbox.mkdir(parents=True)
    for name in ("good.csv", "bad.csv"):
        (inbox / name).write_text(small_sheet(name.removesuffix(".csv") + "-1"), encoding="utf-8")
    (inbox / "bad.csv.received").write_bytes(beside)
    said: list[str] = []
    taken = take_in(tmp_path / "pool", ["bad.csv", "good.csv"], f"{now():%Y-%m}", "tests", said.append)
    assert (taken.sheets, taken.left) == (1, 1)
    assert [path.name for path in sorted(inbox.iterdir())] == ["bad.csv", "bad.csv.received"]
    assert any("Left in the inbox: bad.csv" in line and "bad.csv.received" in line for line in said)

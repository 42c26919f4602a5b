"""Slips on disk: a day for a check, for good for a receipt, nothing for a wrong word."""

from __future__ import annotations

import os
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from pipeline.desk.accounts.tokens import random_token
from pipeline.desk.sheets import receipts as receipts_room
from pipeline.desk.sheets.receipts import KeptSheet, KeptSheets
from schemas.receipt import FileReceipt

NOW = datetime.now(UTC).replace(microsecond=0)


def checked_sheet(*members: str) -> KeptSheet:
    receipt: FileReceipt = {
        "file": "a.csv",
        "rows": 1,
        "accepted": 1,
        "held": 0,
        "waits": 0,
        "problems": [],
        "readings": [],
        "results": [],
    }
    return KeptSheet(
        "a.csv", NOW.strftime("%Y-%m-%dT%H:%M:%SZ"), receipt, True, "ab" * 32, [], [], list(members)
    )


@pytest.fixture
def kept(tmp_path: Path) -> KeptSheets:
    return KeptSheets(tmp_path, random_token)


def test_many_at_once_keep_their_checks(kept: KeptSheets) -> None:
    """One request's file may be moved into place while another counts what waits."""
    with ThreadPoolExecutor(8) as requests:
        links = list(
            requests.map(
                lambda member: kept.keep_check(checked_sheet(member), b"bytes", NOW), ["fen-07"] * 160
            )
        )
    assert None not in links and len(set(links)) == 160


def test_a_check_opens_for_a_day_and_only_by_its_token(kept: KeptSheets) -> None:
    link = kept.keep_check(checked_sheet("fen-07"), b"bytes", NOW)
    assert link is not None
    found = kept.check(link, NOW + timedelta(hours=24))
    assert found is not None
    assert kept.content(link) == b"bytes"
    assert kept.check(link, NOW + timedelta(hours=24, seconds=1)) is None
    for wrong in ("", "x", link[:-1], link + "x", "../" + link[3:], link.swapcase()):
        assert kept.check(wrong, NOW) is None


def test_the_token_itself_stands_in_no_file_name(kept: KeptSheets, tmp_path: Path) -> None:
    link = kept.keep_check(checked_sheet(), b"", NOW)
    assert link is not None
    assert not [path for path in tmp_path.rglob("*") if link in path.name]


def test_old_checks_are_swept_away_and_too_many_are_refused(
    kept: KeptSheets, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept.keep_check(checked_sheet(), b"x" * 600, NOW)
    monkeypatch.setattr(receipts_room, "MOST_WAITING_BYTES", 1500)
    assert kept.keep_check(checked_sheet(), b"x" * 600, NOW) is None
    for path in (tmp_path / "checked").iterdir():
        os.utime(path, (time.time() - 90_000, time.time() - 90_000))
    assert kept.keep_check(checked_sheet(), b"x" * 600, NOW) is not None
    assert len(list((tmp_path / "checked").iterdir())) == 2


def test_receipts_are_their_owners_newest_first(kept: KeptSheets) -> None:
    first = kept.keep_receipt(checked_sheet("fen-07"), "fen-07", "fen-07", NOW)
    second = kept.keep_receipt(checked_sheet("Fen-07"), "FEN-07", "ada", NOW + timedelta(hours=1))
    kept.keep_receipt(checked_sheet("otter-3"), "otter-3", "otter-3", NOW)
    assert [one.number for one in kept.receipts("Fen-07")] == [second.number, first.number]
    assert len(kept.receipts()) == 3
    again = kept.receipt(first.number)
    assert again is not None
    assert (again.owner, again.sent_by) == ("fen-07", "fen-07")
    assert kept.receipt("../../accounts") is None


def test_erasing_leaves_nothing_of_a_member(kept: KeptSheets, tmp_path: Path) -> None:
    kept.keep_receipt(checked_sheet("fen-07"), "fen-07", "fen-07", NOW)
    kept.keep_check(checked_sheet("Fen-07", "otter-3"), b"fen-07", NOW)
    other = kept.keep_receipt(checked_sheet("otter-3"), "otter-3", "otter-3", NOW)
    kept.forget("FEN-07")
    left = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert [path.stem for path in left] == [other.number]


def test_whose_codes_a_sheet_holds(kept: KeptSheets) -> None:
    assert checked_sheet("fen-07", "FEN-07").foreign_to("Fen-07") == []
    assert checked_sheet("fen-07", "otter-3").foreign_to("fen-07") == ["otter-3"]

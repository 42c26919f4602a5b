"""Requests in the inbox: written whole, read back, carried out once, in the order in which they came."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from pipeline.errors import DrainpoolError
from pipeline.jobs.decisions.requests import (
    KINDS,
    Request,
    carry_out,
    drop_requests,
    in_turn,
    leave_request,
    leave_sheet,
    read_request,
    requests_waiting,
    waiting_requests,
)

NOON = datetime(2026, 3, 14, 12, 0, 0, 123456, tzinfo=UTC)


@pytest.mark.parametrize("kind", KINDS)
def test_a_request_is_read_as_it_was_left(tmp_path: Path, kind: str) -> None:
    left = Request(kind, "ada", NOON.replace(microsecond=0), "because “…”", member="fen-07", series="sill")
    name = leave_request(tmp_path, left, "abcd1234")
    assert read_request(tmp_path / "inbox" / name) == left
    assert requests_waiting(tmp_path) == [name]
    assert [path.name for path in (tmp_path / "inbox").iterdir()] == [name]


@pytest.mark.parametrize(
    "broken",
    [
        "", "[]", "{}", '{"kind": "withdraw"}', "\x00",
        json.dumps({"kind": "fire", "by": "a", "received": "2026-03-14T12:00:00Z"}),
        json.dumps({"kind": "withdraw", "by": "a", "received": "2026-03-14T12:00:00Z", "words": "x"}),
        json.dumps({"kind": "answer", "by": "a", "received": "2026-03-14T12:00:00", "words": "x"}),
        json.dumps({"kind": "answer", "by": "a", "received": "2026-03-14T12:00:00Z", "words": ["x"]}),
        json.dumps({"kind": "answer", "by": "", "received": "2026-03-14T12:00:00Z"}),
        json.dumps({"kind": "answer", "by": "a", "received": 3}),
    ],
)  # fmt: skip
def test_a_file_that_holds_no_request_is_said_and_left(tmp_path: Path, broken: str) -> None:
    path = tmp_path / "inbox" / "x.request.json"
    path.parent.mkdir()
    path.write_text(broken)
    with pytest.raises(DrainpoolError, match=r"x\.request\.json holds no request"):
        read_request(path)
    said: list[str] = []
    assert not carry_out(tmp_path, path.name, said.append)
    assert path.exists()
    assert "holds no request" in said[0]
    assert waiting_requests(tmp_path) == []


def test_a_sheet_lies_there_with_its_moment_and_sender_and_a_harmless_name(tmp_path: Path) -> None:
    name = leave_sheet(tmp_path, b"member\n", "Ünsere Tests (März).CSV", "fen-07", NOON, "abcd1234")
    assert name == "20260314T120000123456Z-fen-07-abcd1234-nsere_Tests_M_rz.csv"
    first, second = (tmp_path / "inbox" / f"{name}.received").read_text().splitlines()
    assert first == "2026-03-14T12:00:00Z"
    assert json.loads(second) == {"by": "fen-07", "file": "Ünsere Tests (März).CSV"}


def test_each_request_stands_behind_the_sheets_that_came_before_it(tmp_path: Path) -> None:
    sheets = [leave_sheet(tmp_path, b"", "a.csv", "m", NOON + timedelta(seconds=at), "w") for at in (0, 2, 4)]
    requests = [
        leave_request(tmp_path, Request("answer", "m", NOON + timedelta(seconds=at)), "w") for at in (1, 3)
    ]
    assert in_turn(sheets, requests) == [
        ([sheets[0]], requests[0]),
        ([sheets[1]], requests[1]),
        ([sheets[2]], None),
    ]


def test_erasing_takes_requests_by_and_about_a_member_away(tmp_path: Path) -> None:
    kept = leave_request(tmp_path, Request("answer", "otter-3", NOON, "x", member="otter-3"), "w1")
    leave_request(tmp_path, Request("answer", "Fen-07", NOON, "x", member="fen-07"), "w2")
    leave_request(tmp_path, Request("ask", "ada", NOON, "x", member="FEN-07"), "w3")
    drop_requests(tmp_path, "fen-07")
    assert requests_waiting(tmp_path) == [kept]

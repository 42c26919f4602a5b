"""Receiving sheets into a real pool on disk."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from pipeline.errors import DrainpoolError
from pipeline.load.changes.decisions import restore, withdraw
from pipeline.load.truth import archive, journal
from pipeline.load.truth.records import Selection
from pipeline.load.views.reading import runs_in_force, view
from tests.store.plain_sheets import Clock, opened, send, sheet, times

FIRST = sheet(
    ("fen-07", "spring", 0, 1, 1, 100), ("fen-07", "spring", 40, 1, 1, 60), ("fen-07", "spring", 40, 2, 1, 62)
)


def test_a_sheet_is_in_the_archive_the_journal_and_the_store(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        (outcome,) = send(writer, ("fen-07.csv", FIRST))
    assert (outcome.rows, outcome.accepted, outcome.held, outcome.exit_code) == (3, 3, 0, 0)
    assert outcome.received == datetime(2026, 3, 10, 12, tzinfo=UTC)
    assert archive.place(pool, outcome.submission, ".csv").read_bytes() == FIRST
    lines, torn = journal.read(pool)
    assert [line.event for line in lines] == ["made", "settings", "received"]
    assert torn == 0
    assert times(runs_in_force(pool)) == [
        ("spring", 0.0, 1, 1, 100.0),
        ("spring", 40.0, 1, 1, 60.0),
        ("spring", 40.0, 2, 1, 62.0),
    ]
    assert runs_in_force(pool)["submission"].unique().to_list() == [outcome.submission]


def test_loading_the_same_folder_twice_changes_nothing(tmp_path: Path) -> None:
    bad = sheet(("fen-07", "spring", 0, 1, 1, "soon"), ("fen-07", "spring", 40, 1, 1, 60))
    unreadable = b"\0\1\2"
    for _ in range(2):
        with opened(tmp_path / "pool") as writer:
            outcomes = send(writer, ("a.csv", FIRST), ("b.csv", bad), ("c.csv", unreadable))
    assert [outcome.already_loaded for outcome in outcomes] == [True, True, True]
    assert [outcome.exit_code for outcome in outcomes] == [0, 1, 2]
    assert [(outcome.rows, outcome.accepted, outcome.held) for outcome in outcomes] == [
        (3, 3, 0),
        (2, 1, 1),
        (0, 0, 0),
    ]
    assert [line.event for line in journal.read(tmp_path / "pool")[0]] == [
        "made",
        "settings",
        *["received"] * 3,
    ]


def test_the_same_bytes_twice_in_one_batch_are_one_receipt(tmp_path: Path) -> None:
    with opened(tmp_path / "pool") as writer:
        first, second = send(writer, ("a.csv", FIRST), ("copy of a.csv", FIRST))
    assert (first.already_loaded, second.already_loaded, second.name) == (False, True, "copy of a.csv")
    assert first.receipt == second.receipt
    assert runs_in_force(tmp_path / "pool").height == 3


def test_mending_row_by_row_says_what_it_did(tmp_path: Path) -> None:
    mended = sheet(("Fen-07", "Spring", 40, 2, 1, 70), ("Fen-07", "Spring", 55, 1, 1, 40))
    with opened(tmp_path / "pool") as writer:
        send(writer, ("a.csv", FIRST))
    with opened(tmp_path / "pool", Clock(datetime(2026, 3, 12, tzinfo=UTC))) as writer:
        (outcome,) = send(writer, ("b.csv", mended))
    assert outcome.notes == ("mended 1, added 1, kept 2 from the sheet of 2026-03-10",)
    runs = runs_in_force(tmp_path / "pool")
    assert times(runs)[2:] == [("spring", 40.0, 2, 1, 70.0), ("spring", 55.0, 1, 1, 40.0)]
    assert runs["member"].unique().to_list() == ["fen-07"], "the first spelling is kept"


def test_whole_series_takes_the_place_of_the_series(tmp_path: Path) -> None:
    other = sheet(("fen-07", "autumn", 0, 1, 1, 90))
    again = sheet(("fen-07", "spring", 0, 1, 1, 101))
    with opened(tmp_path / "pool") as writer:
        send(writer, ("a.csv", FIRST), ("o.csv", other))
        (outcome,) = send(writer, ("b.csv", again), whole_series=True)
    assert times(runs_in_force(tmp_path / "pool")) == [
        ("autumn", 0.0, 1, 1, 90.0),
        ("spring", 0.0, 1, 1, 101.0),
    ]
    assert outcome.notes == (
        "mended 1, added 0, kept 0 from the sheet of 2026-03-10; 2 more from it left with the whole series",
    )


def test_a_share_within_half_a_point_is_the_same_share(tmp_path: Path) -> None:
    with opened(tmp_path / "pool") as writer:
        send(writer, ("a.csv", sheet(("m1", "s", 33.3, 1, 1, 50), ("m1", "s", 40, 1, 1, 50))))
        send(writer, ("b.csv", sheet(("m1", "s", 33.8, 1, 1, 51), ("m1", "s", 40.6, 1, 1, 52))))
    assert times(runs_in_force(tmp_path / "pool")) == [
        ("s", 33.8, 1, 1, 51.0),
        ("s", 40.0, 1, 1, 50.0),
        ("s", 40.6, 1, 1, 52.0),
    ]


def test_only_accepted_rows_replace(tmp_path: Path) -> None:
    with opened(tmp_path / "pool") as writer:
        send(writer, ("a.csv", FIRST))
        send(writer, ("b.csv", sheet(("fen-07", "spring", 0, 1, 1, "oops"))), whole_series=True)
    assert runs_in_force(tmp_path / "pool").height == 3


def test_identical_bytes_of_a_replaced_or_withdrawn_sheet_are_a_new_receipt(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    one, two = sheet(("m1", "s", 0, 1, 1, 50)), sheet(("m1", "s", 0, 1, 1, 51))
    with opened(pool) as writer:
        send(writer, ("a.csv", one))
        send(writer, ("b.csv", two))
        (again,) = send(writer, ("a.csv", one))
        assert not again.already_loaded
        withdraw(writer, Selection(submission=again.submission), "test")
        (third,) = send(writer, ("a.csv", one))
    assert not third.already_loaded
    assert times(runs_in_force(pool)) == [("s", 0.0, 1, 1, 50.0)]


def test_back_dated_sheets_are_mended_by_what_was_received_after_them(tmp_path: Path) -> None:
    with opened(tmp_path / "pool") as writer:
        send(writer, ("b.csv", sheet(("m1", "s", 0, 1, 1, 51))))
        send(writer, ("a.csv", sheet(("m1", "s", 0, 1, 1, 50))), received=datetime(2026, 3, 1, tzinfo=UTC))
    assert times(runs_in_force(tmp_path / "pool")) == [("s", 0.0, 1, 1, 51.0)]


def test_withdrawing_and_restoring(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(
            writer,
            ("a.csv", FIRST),
            ("o.csv", sheet(("fen-07", "autumn", 0, 1, 1, 90), ("m2", "x", 0, 1, 1, 9))),
        )
        taken = withdraw(writer, Selection(member="FEN-07", series="spring"), "leak")
    assert (taken.runs, taken.series, taken.receipts) == (3, 1, 1)
    assert runs_in_force(pool)["series"].to_list() == ["autumn", "x"]
    with opened(pool) as writer:
        withdraw(writer, Selection(member="fen-07"), "left the club")
    assert runs_in_force(pool)["series"].to_list() == ["x"]
    with opened(pool) as writer:
        restore(writer, Selection(member="fen-07"), "came back")
    assert runs_in_force(pool).height == 5


def test_nobody_is_withdrawn_by_mistake(tmp_path: Path) -> None:
    with opened(tmp_path / "pool") as writer:
        send(writer, ("a.csv", FIRST))
        with pytest.raises(DrainpoolError, match="nothing of member fen-70"):
            withdraw(writer, Selection(member="fen-70"), "typing error")
        with pytest.raises(DrainpoolError, match="no submission"):
            withdraw(writer, Selection(submission="0" * 64), "typing error")
    assert [line.event for line in journal.read(tmp_path / "pool")[0]] == ["made", "settings", "received"]


def test_held_rows_wait_until_a_later_sheet_mends_them(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(
            writer,
            ("a.csv", sheet(("m1", "s", 0, 1, 1, "x"), ("m1", "s", 40, 1, 1, "y"), ("m1", "s", 40, 2, 1, 9))),
        )
    assert view(pool).counts == {"members": 1, "series": 1, "runs": 1, "held": 2, "waits": 0, "receipts": 1}
    held = view(pool).held
    assert held["reasons"].to_list() == [["drain_time"], ["drain_time"]]
    assert held["message"][0] == "“x” is no time. Mend it."
    with opened(pool) as writer:
        send(writer, ("b.csv", sheet(("m1", "s", 0, 1, 1, 50))))
    assert view(pool).held["sheet_row"].to_list() == [3]


def test_an_unreadable_sheet_waits_too_but_is_no_row(tmp_path: Path) -> None:
    with opened(tmp_path / "pool") as writer:
        send(writer, ("a.csv", b"\0"))
    seen = view(tmp_path / "pool")
    assert seen.counts["held"] == 0
    assert seen.held.select("sheet_row", "waits", "file").rows() == [(None, True, "a.csv")]

"""Months and editions: what each looks at, and that later loads and withdrawals do not move it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from pipeline.errors import DrainpoolError
from pipeline.load.changes.decisions import restore, set_aside, withdraw
from pipeline.load.changes.editions import (
    begin_edition,
    closed_until,
    cutoff_of,
    drop_edition,
    editions,
    editions_in,
    publish_edition,
)
from pipeline.load.truth.records import Cutoff, Edition, Selection
from pipeline.load.views.preview import preview
from pipeline.load.views.reading import runs_in_force
from tests.store.plain_sheets import SETTINGS, Clock, check, opened, send, sheet, times

MARCH_END = datetime(2026, 3, 31, 23, 59, 59, tzinfo=UTC)
FIRST = sheet(("m1", "s", 0, 1, 1, 50), ("m1", "s", 40, 1, 1, 30), ("m2", "s", 0, 1, 1, 40))


def seen(pool: Path, edition: Edition) -> list[tuple[str, float, float]]:
    runs = runs_in_force(pool, cutoff_of(edition))
    return runs.select("member", "component_share", "drain_time_s").rows()


def test_an_open_month_is_not_journalled_and_sees_everything(tmp_path: Path) -> None:
    with opened(tmp_path / "pool") as writer:
        send(writer, ("a.csv", FIRST))
        edition = begin_edition(writer, "2026-03")
    assert (edition.open, edition.number, edition.line) == (True, 1, None)
    assert edition.as_of == datetime(2026, 3, 10, 12, tzinfo=UTC)
    assert cutoff_of(edition) == Cutoff(known_before=4), "everything that was known when it was begun"
    assert editions(tmp_path / "pool", "2026-03") == []
    assert closed_until(tmp_path / "pool") is None


def test_the_first_edition_of_an_ended_month(tmp_path: Path) -> None:
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock) as writer:
        send(writer, ("a.csv", FIRST))
        clock.at(2026, 4, 2)
        send(writer, ("b.csv", sheet(("m3", "s", 0, 1, 1, 20))))
        edition = begin_edition(writer, "2026-03")
        assert begin_edition(writer, "2026-03") == edition, "a plain run makes the newest edition again"
    assert (edition.number, edition.as_of, edition.published) == (1, MARCH_END, False)
    assert {member for member, _, _ in seen(pool, edition)} == {"m1", "m2"}
    assert closed_until(pool) == MARCH_END
    assert editions(pool, "2026-03") == [edition]


def test_later_mendings_and_withdrawals_wait_for_a_correction(tmp_path: Path) -> None:
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock) as writer:
        send(writer, ("a.csv", FIRST))
        clock.at(2026, 4, 2)
        first = begin_edition(writer, "2026-03")
        send(writer, ("b.csv", sheet(("m1", "s", 40, 1, 1, 31), ("m1", "s", 55, 1, 1, 20))))
        withdraw(writer, Selection(member="m2"), "asked")
    before = [("m1", 0.0, 50.0), ("m1", 40.0, 30.0), ("m2", 0.0, 40.0)]
    assert seen(pool, first) == before
    with opened(pool, clock) as writer:
        second = begin_edition(writer, "2026-03", correct=True, reason="m1 read the clock wrongly")
    assert (second.number, second.reason) == (2, "m1 read the clock wrongly")
    assert second.as_of == datetime(2026, 4, 2, tzinfo=UTC)
    assert seen(pool, second) == [("m1", 0.0, 50.0), ("m1", 40.0, 31.0)], "mended, not added to"
    assert seen(pool, first) == before
    with opened(pool, clock) as writer:
        restore(writer, Selection(member="m2"), "changed her mind")
    assert seen(pool, second) == [("m1", 0.0, 50.0), ("m1", 40.0, 31.0)]


def test_a_withdrawal_before_the_months_end_is_known_to_its_first_edition(tmp_path: Path) -> None:
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock) as writer:
        send(writer, ("a.csv", FIRST))
        withdraw(writer, Selection(member="m2"), "asked")
        clock.at(2026, 4, 1, 0, 0, 1)
        withdraw(writer, Selection(member="m1"), "asked a second too late")
        edition = begin_edition(writer, "2026-03")
    assert {member for member, _, _ in seen(pool, edition)} == {"m1"}


def test_a_whole_series_sent_after_the_month_takes_its_place_in_a_correction(tmp_path: Path) -> None:
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock) as writer:
        send(writer, ("a.csv", FIRST))
        clock.at(2026, 4, 2)
        begin_edition(writer, "2026-03")
        send(writer, ("b.csv", sheet(("m1", "s", 0, 7, 1, 51), ("m1", "s", 25, 7, 1, 44))), whole_series=True)
        second = begin_edition(writer, "2026-03", correct=True)
    assert seen(pool, second) == [("m1", 0.0, 51.0), ("m1", 25.0, 44.0), ("m2", 0.0, 40.0)]


def test_set_aside_leaves_later_months_only(tmp_path: Path) -> None:
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock) as writer:
        (outcome,) = send(writer, ("a.csv", FIRST))
        clock.at(2026, 4, 2)
        march = begin_edition(writer, "2026-03")
        set_aside(writer, Selection(submission=outcome.submission, sheet_row=4), "a leak")
        clock.at(2026, 5, 2)
        april = begin_edition(writer, "2026-04")
    assert len(seen(pool, march)) == 3
    assert [member for member, _, _ in seen(pool, april)] == ["m1", "m1"]


def test_nothing_is_received_inside_a_reported_month(tmp_path: Path) -> None:
    pool, clock = tmp_path / "pool", Clock()
    late = sheet(("m3", "s", 0, 1, 1, 20))
    with opened(pool, clock) as writer:
        send(writer, ("a.csv", FIRST))
        clock.at(2026, 4, 2)
        (early,) = send(writer, ("b.csv", late), received=datetime(2026, 3, 5, tzinfo=UTC))
        assert early.refused is None, "the month has ended, but its report has not been made"
        begin_edition(writer, "2026-03")
        (refused,) = send(writer, ("c.csv", late + b"0"), received=datetime(2026, 3, 31, tzinfo=UTC))
        (taken,) = send(writer, ("c.csv", late + b"0"), received=datetime(2026, 4, 1, tzinfo=UTC))
    assert refused.refused is not None
    assert "The first free date is 2026-04-01." in refused.refused
    assert (refused.exit_code, refused.receipt) == (3, None)
    assert taken.refused is None


def test_publishing_marks_the_newest_edition_only(tmp_path: Path) -> None:
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock) as writer:
        send(writer, ("a.csv", FIRST))
        clock.at(2026, 4, 2)
        begin_edition(writer, "2026-03")
        assert publish_edition(writer, "2026-03").published
        withdraw(writer, Selection(member="m2"), "asked")
        begin_edition(writer, "2026-03", correct=True)
    assert [edition.published for edition in editions(pool, "2026-03")] == [True, False]


@pytest.mark.parametrize(
    ("month", "correct", "words"),
    [
        ("2026-05", False, "has not begun"),
        ("2026-03", True, "is still running"),
        ("2026-02", True, "has no report yet"),
    ],
)
def test_months_that_can_not_be_made_are_told_why(
    tmp_path: Path, month: str, correct: bool, words: str
) -> None:
    with opened(tmp_path / "pool") as writer:
        send(writer, ("a.csv", FIRST))
        with pytest.raises(DrainpoolError, match=words):
            begin_edition(writer, month, correct=correct)
        with pytest.raises(DrainpoolError, match="no finished report"):
            publish_edition(writer, "2026-02")


def test_a_preview_says_what_a_load_would_do_and_does_not_do_it(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", FIRST))
    again = sheet(("m1", "s", 40, 1, 1, 31), ("m1", "s", 40, 2, 1, 32))
    fresh = sheet(("m9", "s", 0, 1, 1, 31))
    checked = check([("a.csv", FIRST), ("b.csv", again), ("c.csv", fresh)], Clock()().date(), SETTINGS)
    assert preview(pool, checked) == {
        0: ("already in the pool, received 2026-03-10; loading it again changes nothing",),
        1: ("if loaded: mended 1, added 1, kept 1 from the sheet of 2026-03-10",),
    }
    assert times(runs_in_force(pool)) == [
        ("s", 0.0, 1, 1, 50.0),
        ("s", 40.0, 1, 1, 30.0),
        ("s", 0.0, 1, 1, 40.0),
    ]


def test_a_correction_of_nothing_is_refused_or_makes_the_draft_again(tmp_path: Path) -> None:
    pool, clock, said = tmp_path / "pool", Clock(), list[str]()
    with opened(pool, clock, said) as writer:
        send(writer, ("a.csv", FIRST))
        clock.at(2026, 4, 2)
        first = begin_edition(writer, "2026-03")
        assert begin_edition(writer, "2026-03", correct=True, reason="typed again") == first
        assert said == ["Nothing of 2026-03 has changed since the draft of edition 1: it is made again."]
        publish_edition(writer, "2026-03")
        length = len(writer.lines)
        send(writer, ("b.csv", sheet(("m9", "s", 0, 1, 1, 20))))
        with pytest.raises(DrainpoolError, match="there is nothing to correct"):
            begin_edition(writer, "2026-03", correct=True, reason="no reason")
        assert len(writer.lines) == length + 1, "only the sheet that belongs to April"
        withdraw(writer, Selection(member="m2"), "asked")
        assert begin_edition(writer, "2026-03", correct=True, reason="asked").number == 2
        drop_edition(writer, editions_in(writer.lines, "2026-03")[-1])
        assert begin_edition(writer, "2026-03", correct=True, reason="asked").number == 2
    assert [one.number for one in editions(pool, "2026-03")] == [1, 2]

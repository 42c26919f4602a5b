"""Wrong clocks: refused before they stamp anything; what one stamped is put right, and nothing stays closed by it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.errors import DrainpoolError
from pipeline.jobs.keeping.steps import rebuild_pool, verify_pool
from pipeline.load.changes.decisions import withdraw
from pipeline.load.changes.editions import begin_edition, closed_until, editions, publish_edition
from pipeline.load.changes.restamping import confirm_clock, restamp
from pipeline.load.truth.clock import odd_clock
from pipeline.load.truth.records import Selection
from pipeline.load.views.reading import view
from tests.store.plain_sheets import Clock, opened, send, sheet

NOW = datetime(2026, 3, 10, 12, tzinfo=UTC)
FIRST = sheet(("m1", "s", 0, 1, 1, 50), ("m1", "s", 40, 1, 1, 30))
SECOND = sheet(("m2", "s", 0, 1, 1, 50))
THIRD = sheet(("m3", "s", 0, 1, 1, 50))


@given(st.timedeltas(timedelta(days=-4000), timedelta(days=4000)))
def test_a_day_behind_and_half_a_year_ahead_are_taken(step: timedelta) -> None:
    words = odd_clock(NOW, NOW + step, Path("pool"))
    assert (words is None) is (timedelta(days=-1) <= step <= timedelta(days=183))
    assert odd_clock(None, NOW + step, Path("pool")) is None, "an empty journal knows no better"
    if words is not None:
        assert "2026-03-10 12:00" in words and f"{NOW + step:%Y-%m-%d %H:%M}" in words
        assert ("restamp" in words) is (step < timedelta(0)) is not ("--clock-is-right" in words)


@pytest.mark.parametrize("moment", [(2031, 2, 3), (2026, 3, 8)])
def test_nothing_is_stamped_by_an_odd_clock(tmp_path: Path, moment: tuple[int, ...]) -> None:
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock) as writer:
        send(writer, ("a.csv", FIRST))
    before = (pool / "journal.jsonl").read_bytes()
    clock.at(*moment)
    for change in (
        lambda writer: send(writer, ("b.csv", SECOND)),
        lambda writer: withdraw(writer, Selection(member="m1"), "asked"),
        lambda writer: begin_edition(writer, "2026-02"),
    ):
        with pytest.raises(DrainpoolError, match="clock reads"), opened(pool, clock) as writer:
            change(writer)
    assert (pool / "journal.jsonl").read_bytes() == before
    assert len(list((pool / "archive").rglob("*.csv"))) == 1, "the sheet was taken away again"


def test_a_pool_that_rested_goes_on_once_the_clock_is_said_to_be_right(tmp_path: Path) -> None:
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock) as writer:
        send(writer, ("a.csv", FIRST))
        confirm_clock(writer)
        assert writer.lines[-1].event == "received", "nothing to confirm"
    clock.at(2027, 3, 1)
    with opened(pool, clock) as writer:
        confirm_clock(writer)
        send(writer, ("b.csv", SECOND))
    assert view(pool).counts["members"] == 2


@pytest.fixture
def frozen(tmp_path: Path) -> tuple[Path, Clock]:
    """A pool with one load of March 2026 under a right clock, and one load, one edition of the running month, published,
    and one more load under a clock that stood in 2031 (as an older drainpool let it)."""
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock) as writer:
        send(writer, ("a.csv", FIRST))
    clock.at(2031, 2, 3)
    with opened(pool, clock) as writer, pytest.MonkeyPatch.context() as patch:
        patch.setattr("pipeline.load.database.writer.refuse_odd_clock", lambda newest, present, pool: None)
        send(writer, ("b.csv", SECOND))
        begin_edition(writer, "2026-03")
        publish_edition(writer, "2026-03")
        send(writer, ("c.csv", THIRD))
    clock.at(2026, 3, 12)
    return pool, clock


def test_what_a_wrong_clock_stamped_is_put_right_and_nothing_stays_closed(frozen: tuple[Path, Clock]) -> None:
    pool, clock = frozen
    assert closed_until(pool) == datetime(2026, 3, 31, 23, 59, 59, tzinfo=UTC)
    with pytest.raises(DrainpoolError, match="restamp"), opened(pool, clock) as writer:
        send(writer, ("d.csv", sheet(("m4", "s", 0, 1, 1, 50))))
    with opened(pool, clock) as writer:
        done = restamp(writer, "the battery was empty", datetime(2026, 3, 11, tzinfo=UTC))
        send(writer, ("d.csv", sheet(("m4", "s", 0, 1, 1, 50))))
    assert (done.first, done.to) == (4, datetime(2026, 3, 11, tzinfo=UTC))
    assert closed_until(pool) is None and editions(pool, "2026-03") == []
    received = view(pool).receipts["received"].to_list()
    assert [f"{moment:%m-%d}" for moment in received] == ["03-10", "03-11", "03-11", "03-12"]
    clock.at(2026, 4, 2)
    with opened(pool, clock) as writer:
        edition = begin_edition(writer, "2026-03")
    assert (edition.number, edition.published) == (1, False), (
        "the voided edition's publishing does not carry over"
    )
    before = view(pool)
    assert [one.words for one in verify_pool(pool, "Ann", lambda words: None) if "moment" in one.words] == []
    rebuild_pool(pool, lambda words: None)
    after = view(pool)
    assert after.receipts.equals(before.receipts) and after.runs.equals(before.runs)


@pytest.mark.parametrize("to", [datetime(2026, 3, 9, tzinfo=UTC), datetime(2026, 3, 13, tzinfo=UTC)])
def test_moments_are_put_right_only_between_the_line_before_and_now(
    frozen: tuple[Path, Clock], to: datetime
) -> None:
    pool, clock = frozen
    with (
        pytest.raises(DrainpoolError, match="can't be the moment of lines 4 to"),
        opened(pool, clock) as writer,
    ):
        restamp(writer, "why", to)


def test_where_nothing_is_wrong_nothing_is_put_right(tmp_path: Path) -> None:
    with opened(tmp_path / "pool", Clock()) as writer:
        send(writer, ("a.csv", FIRST))
        with pytest.raises(DrainpoolError, match="No line of the journal is stamped after"):
            restamp(writer, "why")

"""When a sheet counts as received."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from pipeline.errors import DrainpoolError, WrongUseError
from pipeline.load.truth.moments import first_free_day, inbox_moment, is_open, month_end, received_on

NOW = datetime(2026, 4, 10, 8, 30, 15, 999, tzinfo=UTC)
MARCH_END = datetime(2026, 3, 31, 23, 59, 59, tzinfo=UTC)


@pytest.mark.parametrize(
    ("month", "end"),
    [
        ("2026-03", MARCH_END),
        ("2026-12", datetime(2026, 12, 31, 23, 59, 59, tzinfo=UTC)),
        ("2028-02", datetime(2028, 2, 29, 23, 59, 59, tzinfo=UTC)),
    ],
)
def test_a_month_ends_at_its_last_second(month: str, end: datetime) -> None:
    assert month_end(month) == end


@pytest.mark.parametrize("typed", ["2026-13", "2026-3", "März", "2026-03-01", "1979-12", ""])
def test_what_is_no_month_is_told_so(typed: str) -> None:
    with pytest.raises(WrongUseError, match="is not a month"):
        month_end(typed)


def test_a_month_is_open_until_its_last_second_is_over() -> None:
    assert is_open("2026-03", MARCH_END)
    assert not is_open("2026-03", datetime(2026, 4, 1, tzinfo=UTC))


def test_received_is_that_day_at_midnight() -> None:
    assert received_on("2026-04-10", NOW, None) == datetime(2026, 4, 10, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "closed", "words"),
    [
        ("2026-04-11", None, "lies in the future"),
        ("2026-03-31", MARCH_END, r"The first free date is 2026-04-01\."),
        ("2026-02-01", MARCH_END, r"The first free date is 2026-04-01\."),
    ],
)
def test_days_that_can_not_be_given(day: str, closed: datetime | None, words: str) -> None:
    with pytest.raises(DrainpoolError, match=words):
        received_on(day, NOW, closed)


def test_what_is_no_day_is_wrong_use() -> None:
    with pytest.raises(WrongUseError, match="is not a day"):
        received_on("10.4.2026", NOW, None)


def test_first_free_day_is_the_day_after() -> None:
    assert first_free_day(MARCH_END) == date(2026, 4, 1)


def test_inbox_takes_what_the_desk_wrote() -> None:
    written = datetime(2026, 3, 20, 5, tzinfo=UTC)
    assert inbox_moment(written, "2026-03", NOW, None, first_run=True) == (written, None)


def test_inbox_in_the_first_run_of_an_ended_month_is_its_last_second_and_says_so() -> None:
    moment, sentence = inbox_moment(None, "2026-03", NOW, None, first_run=True)
    assert moment == MARCH_END
    assert sentence == "Counted as received at the end of 2026-03 (2026-03-31 23:59:59 UTC)."


@pytest.mark.parametrize(("month", "first_run"), [("2026-03", False), ("2026-04", True)])
def test_inbox_otherwise_is_the_moment_of_the_run(month: str, first_run: bool) -> None:
    assert inbox_moment(None, month, NOW, None, first_run) == (NOW.replace(microsecond=0), None)


def test_inbox_never_reaches_into_a_reported_month() -> None:
    written = datetime(2026, 3, 20, 5, tzinfo=UTC)
    moment, sentence = inbox_moment(written, "2026-04", NOW, MARCH_END, first_run=True)
    assert moment == NOW.replace(microsecond=0)
    assert sentence is not None
    assert "the report of 2026-03 has been made already" in sentence

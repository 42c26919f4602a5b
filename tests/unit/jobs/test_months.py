"""Months in UTC: limits, order, and what a person may type."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from pipeline.errors import WrongUseError
from pipeline.jobs.months import Month, as_text, month_of, read_day, read_month

NOW = datetime(2026, 6, 10, 12, tzinfo=UTC)


def test_a_month_ends_in_its_last_second() -> None:
    assert as_text(Month(2026, 8).last_second) == "2026-08-31T23:59:59Z"
    assert as_text(Month(2024, 2).last_second) == "2024-02-29T23:59:59Z"


def test_december_is_followed_by_january() -> None:
    assert Month(2026, 12).next == Month(2027, 1)
    assert as_text(Month(2026, 12).last_second) == "2026-12-31T23:59:59Z"


def test_a_month_has_ended_only_after_its_last_second() -> None:
    month = Month(2026, 3)
    assert not month.ended(month.last_second)
    assert month.ended(month.last_second + timedelta(seconds=1))


def test_a_moment_belongs_to_its_utc_month() -> None:
    east = timezone(timedelta(hours=10))
    assert str(month_of(datetime(2026, 4, 1, 5, tzinfo=east))) == "2026-03"


def test_the_running_month_may_be_asked_for() -> None:
    assert read_month("2026-06", NOW) == Month(2026, 6)


@pytest.mark.parametrize(
    "typed", ["2026-13", "2026-00", "2026-3", "26-03", "March", "", "2026-03-01", "٢٠٢٦-٠٣"]
)
def test_what_is_no_month_is_wrong_use(typed: str) -> None:
    with pytest.raises(WrongUseError, match="is no month"):
        read_month(typed, NOW)


def test_a_month_to_come_is_wrong_use_and_names_the_running_one() -> None:
    with pytest.raises(WrongUseError, match=r"2026-07 has not begun.*2026-06"):
        read_month("2026-07", NOW)


def test_days() -> None:
    assert read_day("2026-02-28", "--since") == date(2026, 2, 28)
    for typed in ("2026-02-30", "28.2.2026", "2026-2-3", "soon"):
        with pytest.raises(WrongUseError, match="--since"):
            read_day(typed, "--since")

"""What a person may type for a month and a day."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from pipeline.errors import WrongUseError
from pipeline.jobs.dates import read_day, read_month
from schemas.trade.moments import moment_text

NOW = datetime(2026, 6, 10, 12, tzinfo=UTC)


def test_the_running_month_may_be_asked_for() -> None:
    assert read_month(" 2026-06", NOW) == "2026-06"
    assert read_month("2025-12", NOW) == "2025-12"


@pytest.mark.parametrize(
    "typed", ["2026-13", "2026-00", "2026-3", "26-03", "March", "", "2026-03-01", "٢٠٢٦-٠٣"]
)
def test_what_is_no_month_is_wrong_use(typed: str) -> None:
    with pytest.raises(WrongUseError, match="not a month"):
        read_month(typed, NOW)


def test_a_month_to_come_is_wrong_use_and_names_the_running_one() -> None:
    with pytest.raises(WrongUseError, match=r"2026-07 has not begun.*2026-06"):
        read_month("2026-07", NOW)


def test_days() -> None:
    assert read_day("2026-02-28", "--since") == date(2026, 2, 28)
    for typed in ("2026-02-30", "28.2.2026", "2026-2-3", "soon"):
        with pytest.raises(WrongUseError, match="--since"):
            read_day(typed, "--since")


def test_moments_are_written_in_utc() -> None:
    east = datetime(2026, 4, 1, 5, 30, tzinfo=timezone(timedelta(hours=10)))
    assert moment_text(east) == "2026-03-31T19:30:00Z"

"""Moments as text: UTC, whole seconds, written and read back; nothing else is read."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.trade.moments import moment_of, moment_text

ZONES = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
MOMENTS = st.datetimes(datetime(1980, 1, 2), datetime(9999, 12, 30), timezones=ZONES)


@given(MOMENTS)
def test_a_moment_comes_back_in_whole_seconds_wherever_it_was_noted(moment: datetime) -> None:
    back = moment_of(moment_text(moment))
    assert back.tzinfo is UTC
    assert timedelta(0) <= moment - back < timedelta(seconds=1)


@given(MOMENTS, MOMENTS)
def test_texts_stand_in_the_order_of_their_moments(first: datetime, second: datetime) -> None:
    if moment_of(moment_text(first)) < moment_of(moment_text(second)):
        assert moment_text(first) < moment_text(second)


def test_as_the_contract_writes_it() -> None:
    last = datetime(2026, 3, 31, 23, 59, 59, 999999, tzinfo=UTC)
    assert moment_text(last) == "2026-03-31T23:59:59Z"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2026-03-31",
        "2026-03-31T23:59:59",
        "2026-03-31 23:59:59Z",
        "2026-03-31T23:59:59+00:00",
        "2026-02-30T00:00:00Z",
        "2026-03-31T24:00:00Z",
    ],
)
def test_any_other_text_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"time data|day is out of range|unconverted|must be in range"):
        moment_of(text)

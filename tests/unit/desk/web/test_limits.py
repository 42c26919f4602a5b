"""Sliding windows: so many tries, then none until the oldest has aged out."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from pipeline.desk.web.limits import KEYS_KEPT, Limits, Window

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)


def test_the_sixth_try_within_a_quarter_of_an_hour_is_one_too_many() -> None:
    window = Window(5, timedelta(minutes=15))
    for at in range(5):
        assert not window.full("fen-07", NOON + timedelta(minutes=at))
        window.count("fen-07", NOON + timedelta(minutes=at))
    assert window.full("fen-07", NOON + timedelta(minutes=14, seconds=59))
    assert not window.full("fen-07", NOON + timedelta(minutes=15))
    assert not window.full("fen-08", NOON)


def test_a_try_taken_back_or_forgotten_does_not_count() -> None:
    window = Window(1, timedelta(minutes=15))
    window.count("a", NOON)
    window.take_back("a")
    assert not window.full("a", NOON)
    window.count("a", NOON)
    window.forget("a")
    assert not window.full("a", NOON)


def test_a_flood_of_keys_does_not_fill_the_memory() -> None:
    window = Window(1, timedelta(minutes=15))
    for number in range(KEYS_KEPT + 50):
        window.count(str(number), NOON)
    assert len(window.tries) == KEYS_KEPT


def test_the_limits_are_those_of_the_house() -> None:
    limits = Limits()
    minutes = timedelta(minutes=1)
    assert (limits.wrong_by_account.most, limits.wrong_by_account.within) == (5, 15 * minutes)
    assert (limits.wrong_by_address.most, limits.wrong_by_address.within) == (20, 15 * minutes)
    assert (limits.uploads.most, limits.uploads.within) == (30, 60 * minutes)

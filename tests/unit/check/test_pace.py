"""A run far from its series is asked about or waits, never held; its ordinary fellows are left in peace."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.check.sheets import base, check, message, mix, said

FAR = {"run_waits", "time_unlike_series"}


def far(*rows: dict[str, Any]) -> list[tuple[int | None, str]]:
    return [(row, rule) for row, rule in said(check(*rows)) if rule in FAR]


@pytest.mark.parametrize(
    ("seconds", "hint"),
    [
        (3.4, "60 times longer"),
        (12300.0, "60 times shorter"),
        (2400.0, "10 times shorter"),
        (900.0, None),
        (60.0, None),
    ],
)
def test_exact_slips_wait_and_true_differences_do_not(seconds: float, hint: str | None) -> None:
    checked = check(base(), mix(), mix(pot_no=2), mix(pot_no=3, drain_time_s=seconds))
    asked = [(row, rule) for row, rule in said(checked) if rule in FAR]
    assert asked == ([(5, "run_waits")] if hint else [])
    assert hint is None or hint in message(checked, "run_waits")
    assert hint is None or "about 3 min 20 s" in message(checked, "run_waits")
    assert checked.accepted.height == 4 or seconds < 10


def test_far_off_without_an_exact_slip_is_asked_about_as_before() -> None:
    rows = [base(), mix(), mix(pot_no=2), mix(pot_no=3, drain_time_s=205.0 * 300)]
    assert far(*rows) == [(5, "time_unlike_series")]
    assert "60 times" not in message(check(*rows), "time_unlike_series")


def test_two_rows_are_too_few_and_another_collected_volume_is_allowed_for() -> None:
    assert far(mix(), mix(pot_no=2, drain_time_s=12300.0)) == []
    assert far(base(), mix(), mix(pot_no=2), mix(pot_no=3, collected_ml=12.0, drain_time_s=16.0)) == []


def test_a_volume_that_differs_is_asked_about_in_place_of_the_time() -> None:
    rows = [base(), mix(), mix(pot_no=2), mix(pot_no=3, collected_ml=15.0, drain_time_s=200.0)]
    checked = check(*rows)
    assert far(*rows) == [(5, "run_waits")]
    assert "collected “15 ml” is about 9.8 times less than the rest" in message(checked, "run_waits")
    assert "10 times larger" in message(checked, "run_waits")


def test_the_later_of_two_equal_series_waits() -> None:
    rows = [base(), mix(), mix(pot_no=2, drain_time_s=199.0)]
    copies = [{**row, "series": "bench B"} for row in rows]
    asked = [(row, rule) for row, rule in said(check(*rows, *copies)) if rule == "series_waits"]
    assert asked == [(row, "series_waits") for row in (5, 6, 7)]
    copies[2]["drain_time_s"] = 198.0
    assert "series_waits" not in {rule for _, rule in said(check(*rows, *copies))}

"""A time far from its series is asked about, never held."""

from __future__ import annotations

import pytest

from tests.unit.check.sheets import base, check, message, mix, said


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
def test_exact_slips_are_named_and_true_differences_are_not(seconds: float, hint: str | None) -> None:
    checked = check(base(), mix(), mix(pot_no=2), mix(pot_no=3, drain_time_s=seconds))
    told = [(row, rule) for row, rule in said(checked) if rule == "time_unlike_series"]
    assert told == ([(5, "time_unlike_series")] if hint else [])
    assert hint is None or hint in message(checked, "time_unlike_series")
    assert checked.accepted.height == 4 or seconds < 10


def test_three_rows_are_too_few_and_another_collected_volume_is_allowed_for() -> None:
    assert "time_unlike_series" not in {
        rule for _, rule in said(check(base(), mix(), mix(pot_no=2, drain_time_s=12300.0)))
    }
    rows = [base(), mix(), mix(pot_no=2), mix(pot_no=3, collected_ml=12.0, drain_time_s=16.0)]
    assert "time_unlike_series" not in {rule for _, rule in said(check(*rows))}

"""Ratios as minutes of the standard pot."""

from __future__ import annotations

import pytest

from schemas.trade.pots import StandardPot, straight_minutes


def test_minutes_follow_from_rate_and_pot() -> None:
    """20 ml a minute and litre: 2 l give 40 ml a minute, so 200 ml take 5 minutes."""
    assert straight_minutes(20.0, 2.0, 200.0) == pytest.approx(5.0)


def test_a_mix_twice_as_fast_takes_half_the_minutes() -> None:
    assert StandardPot(1.0, 150.0, 9.0, 4).minutes(2.0) == pytest.approx(4.5)
    assert StandardPot(1.0, 150.0, None, 0).minutes(2.0) is None


def test_the_cross_section_is_that_of_a_cube_of_the_same_volume() -> None:
    assert StandardPot(1.0, 150.0, None, 0).area_cm2 == pytest.approx(100.0)

"""The two readings of a pool with stopped clocks."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t

from pipeline.compare.random_level.reading import RHO_ASSUMED, read_level, spread_of, two_readings
from pipeline.compare.random_level.stopped_pool import lay_out
from tests.unit.compare.random_level.conftest import fitted


def test_the_lowest_chance_is_below_both_readings(runs) -> None:
    pool = lay_out(runs(members=10), 0.01)
    both = two_readings(pool, np.arange(10), 0.01)
    assert both is not None
    readings = (both.plain, *both.related)
    assert all(np.all(both.lowest(1.25) <= reading.above(1.25)) for reading in readings)
    assert both.plain.rho == 0
    if not both.estimated:
        assert [reading.rho for reading in both.related] == [-RHO_ASSUMED, RHO_ASSUMED]


def test_chances_are_students_with_growers_less_one(runs) -> None:
    pool = lay_out(runs(members=7), 0.01)
    reading = read_level(fitted(pool), np.arange(7), 0.01)
    assert reading.degrees.tolist() == [6.0, 6.0]
    expected = t(6).sf((np.log(1.25) - reading.mean) / reading.deviation)
    assert reading.above(1.25) == pytest.approx(expected)
    low, high = reading.range()
    assert t(6).cdf((high - reading.mean) / reading.deviation) == pytest.approx([0.975, 0.975])
    assert np.all(low < reading.low) and np.all(reading.high < high)
    assert np.all(np.abs(reading.above(1.25, 0.04) - 0.5) <= np.abs(reading.above(1.25) - 0.5))


def test_two_growers_who_share_a_bag_count_once(runs) -> None:
    pool = lay_out(runs(members=5), 0.01)
    reading = read_level(fitted(pool), np.array([0, 0, 1, 2, 3]), 0.01)
    assert reading.degrees.tolist() == [3.0, 3.0]


def test_spreads_between_growers_are_widened_by_their_number(runs) -> None:
    found = fitted(lay_out(runs(members=6), 0.01))
    assert np.all(spread_of(found, 3) >= spread_of(found, 30))


def test_a_pool_where_all_is_stopped_has_no_reading(runs) -> None:
    given = runs(members=4, stopped=0.0)
    given = type(given)(
        given.member,
        given.series,
        given.club,
        given.share,
        given.log_rate,
        np.ones(len(given.share), dtype=bool),
    )
    assert two_readings(lay_out(given, 0.01), np.arange(4), 0.01) is None

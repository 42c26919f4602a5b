"""Runs far from their own series: the odd side is named, whichever it is, and its fellows never are."""

from __future__ import annotations

import math
from collections.abc import Sequence

import polars as pl
from hypothesis import given
from hypothesis import strategies as st

from schemas.trade.waiting.far_off import far_off

RUNS = {
    "member_key": pl.String,
    "series_key": pl.String,
    "component": pl.String,
    "base": pl.String,
    "component_share": pl.Float64,
    "pour_no": pl.Int64,
    "ended": pl.String,
    "start_moisture": pl.String,
    "pre_wetted": pl.String,
    "pot_volume_ml": pl.Float64,
    "pot_top_diameter_cm": pl.Float64,
    "pot_base_diameter_cm": pl.Float64,
    "collected_ml": pl.Float64,
    "drain_time_s": pl.Float64,
}


def runs(times: Sequence[tuple[str, float, float]], ended: str = "reached") -> pl.DataFrame:
    """Runs from (member, share, seconds), one series a member, 150 ml out of 1 l."""
    fixed = {"component": "perlite", "base": "sphagnum_peat", "pour_no": 1, "start_moisture": "moist"}
    return pl.DataFrame(
        [
            {
                **fixed,
                "member_key": member,
                "series_key": "s",
                "component_share": share,
                "ended": ended,
                "pot_volume_ml": 1000.0,
                "collected_ml": 150.0,
                "drain_time_s": seconds,
            }
            for member, share, seconds in times
        ],
        schema=RUNS,
    )


SERIES = ((0.0, 300.0), (15.0, 290.0), (25.0, 240.0), (40.0, 180.0), (60.0, 100.0))
POOL = [
    (member, share, seconds * pace)
    for member, pace in zip("abcd", (0.7, 1.0, 1.3, 2.0), strict=True)
    for share, seconds in SERIES
]


def found(frame: pl.DataFrame) -> list[tuple[int, float | None]]:
    return [(row["row"], row["factor"]) for row in far_off(frame).iter_rows(named=True)]


def test_a_lone_slip_is_named_with_its_factor_in_either_direction() -> None:
    for factor in (10.0, 60.0, 100.0, 1000.0, 3600.0):
        for up in (True, False):
            slow = [
                (m, s, t * (factor if up else 1 / factor)) if (m, s) == ("b", 40.0) else (m, s, t)
                for m, s, t in POOL
            ]
            assert found(runs(slow)) == [(8, factor)]


def test_half_a_series_off_is_judged_by_what_is_usual_in_the_pool() -> None:
    half = [(m, s, t * 60) if m == "b" and s >= 25 else (m, s, t) for m, s, t in POOL]
    assert found(runs(half)) == [(7, 60.0), (8, 60.0), (9, 60.0)]
    pair = [*POOL, ("e", 0.0, 300.0), ("e", 40.0, 180.0 * 60)]
    assert found(runs(pair)) == [(21, 60.0)]


def test_without_a_pool_a_steep_series_goes_by_its_own_slope() -> None:
    steep = [("a", share, 600.0 * math.exp(-0.045 * share)) for share in (0.0, 15.0, 30.0, 45.0, 60.0, 75.0)]
    assert found(runs(steep)) == []
    steep[0] = ("a", 0.0, 60.0)
    assert found(runs(steep)) == [(0, 10.0)]


def test_a_stopped_clock_and_a_dry_pot_are_not_asked_about() -> None:
    for ended in ("stopped", "ran_dry"):
        assert found(pl.concat([runs(POOL), runs([("a", 40.0, 126.0 * 60)], ended)])) == []


@given(st.lists(st.floats(0.25, 4.0), min_size=20, max_size=20))
def test_no_pot_within_four_times_of_a_quiet_pool_is_asked_about_alone(scatter: list[float]) -> None:
    place = max(range(20), key=lambda at: abs(math.log(scatter[at])))
    times = [(m, s, t * (scatter[at] if at == place else 1.0)) for at, (m, s, t) in enumerate(POOL)]
    assert found(runs(times)) == []


@given(st.permutations(range(20)), st.sampled_from([10.0, 60.0, 1000.0]))
def test_the_order_of_rows_says_nothing(order: list[int], factor: float) -> None:
    times = [(m, s, t * (factor if at == 12 else 1.0)) for at, (m, s, t) in enumerate(POOL)]
    asked = found(runs([times[at] for at in order]))
    assert asked == [(order.index(12), factor)]

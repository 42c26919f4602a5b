"""Runs drawn from the truth: repeatable, independent between members, and on average what was stated."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import log, sqrt
from statistics import fmean, stdev

import pytest

from contrib_samples import truth
from contrib_samples.draws import runs_of
from contrib_samples.federation import MEMBERS, Member, Series
from contrib_samples.spellings import Run

SERIES = Series(4, "bench", date(2026, 4, 3), "medium", "rack", "1 l", 2, 2, (0.0, 15.0, 40.0))
MEMBER = Member("test-bench", "", "Cfb", "", "plain", (SERIES,))


def ln_rate(runs: list[Run], share: float, pour_no: int) -> float:
    return fmean(-log(run.drain_time_s) for run in runs if run.share == share and run.pour_no == pour_no)


def contrasts(series: Series, share: float, pour_no: int, seeds: int = 400) -> list[float]:
    member = replace(MEMBER, series=(series,))
    drawn = [runs_of(member, seed) for seed in range(seeds)]
    return [ln_rate(runs, share, pour_no) - ln_rate(runs, 0.0, pour_no) for runs in drawn]


def test_the_same_seed_and_member_draw_the_same_runs() -> None:
    assert runs_of(MEMBER, 5) == runs_of(MEMBER, 5)
    assert runs_of(MEMBER, 5) != runs_of(MEMBER, 6)


def test_a_member_s_runs_depend_on_that_member_alone() -> None:
    other = replace(MEMBER, code="other-bench")
    assert [run.drain_time_s for run in runs_of(other, 5)] != [run.drain_time_s for run in runs_of(MEMBER, 5)]


@pytest.mark.parametrize(("share", "pour_no"), [(15.0, 1), (40.0, 1), (40.0, 2)])
def test_ratios_average_to_the_stated_truth(share: float, pour_no: int) -> None:
    drawn = contrasts(SERIES, share, pour_no)
    four_standard_errors = 4 * stdev(drawn) / sqrt(len(drawn))
    assert fmean(drawn) == pytest.approx(truth.ln_ratio("medium", share, pour_no), abs=four_standard_errors)


def test_under_a_screen_small_shares_average_to_the_lower_truth() -> None:
    drawn = contrasts(replace(SERIES, setup="sieve"), 15.0, 1)
    four_standard_errors = 4 * stdev(drawn) / sqrt(len(drawn))
    assert fmean(drawn) == pytest.approx(0.01 - 0.12, abs=four_standard_errors)


def test_ratios_spread_as_stated() -> None:
    """Variance of a contrast: a new grower's spread, and half of a single run's variance for each of the
    two means of two fillings. Relative standard error of a standard deviation from n draws: 1/sqrt(2 n)."""
    drawn = contrasts(SERIES, 40.0, 1)
    single_run = truth.SD_FILLING**2 + truth.SD_POUR**2
    expected = sqrt(truth.spread(40.0) ** 2 + 2 * single_run / 2)
    assert stdev(drawn) == pytest.approx(expected, rel=4 / sqrt(2 * len(drawn)))


def test_a_single_run_varies_by_a_tenth() -> None:
    assert sqrt(truth.SD_FILLING**2 + truth.SD_POUR**2) == pytest.approx(0.10)


def test_a_dry_start_is_slower_and_later_pours_are_slower() -> None:
    moist = [ln_rate(runs_of(MEMBER, seed), 0.0, 1) for seed in range(100)]
    later = [ln_rate(runs_of(MEMBER, seed), 0.0, 2) for seed in range(100)]
    dry_bench = replace(MEMBER, series=(replace(SERIES, dry=True),))
    dry = [ln_rate(runs_of(dry_bench, seed), 0.0, 1) for seed in range(100)]
    assert fmean(dry) - fmean(moist) == pytest.approx(truth.DRY_START[0], abs=1e-9)
    assert fmean(later) - fmean(moist) == pytest.approx(truth.LATER_POUR[2], abs=0.03)


def test_drain_times_are_plausible() -> None:
    times = [run.drain_time_s for member in MEMBERS for run in runs_of(member, 7)]
    assert min(times) > 30
    assert max(times) < 30 * 60


def test_pots_are_poured_in_random_order_first_pours_first() -> None:
    runs = sorted(runs_of(MEMBER, 5), key=lambda run: run.run_order)
    assert [run.run_order for run in runs] == list(range(1, len(runs) + 1))
    assert [run.pour_no for run in runs] == [1] * 6 + [2] * 6
    assert [run.share for run in runs[:6]] != sorted(run.share for run in runs[:6])


def test_a_later_pour_is_made_on_a_later_day() -> None:
    days = {run.pour_no: run.tested_on for run in runs_of(MEMBER, 5)}
    assert days == {1: date(2026, 4, 3), 2: date(2026, 4, 4)}


def test_stopped_clocks_and_dry_mixes_are_as_planned() -> None:
    runs = [run for member in MEMBERS for run in runs_of(member, 7)]
    assert sum(run.ended == "stopped" for run in runs) == 5
    dry = [run for run in runs if run.ended == "ran_dry"]
    assert len(dry) == 3
    assert all(run.came_out_ml > 0 for run in dry)
    assert all(run.came_out_ml == 0 for run in runs if run.ended != "ran_dry")

"""The stated truth: read between shares, made slower by screens and settling, and turned into probabilities."""

from __future__ import annotations

from math import log, sqrt

import pytest

from contrib_samples import truth


def test_a_ratio_at_nothing_added_is_one() -> None:
    assert truth.ln_ratio("medium", 0.0, 2, "sieve") == 0.0


def test_between_two_stated_shares_the_curve_is_straight() -> None:
    assert truth.ln_ratio("medium", 45.0) == pytest.approx((0.48 + 0.66) / 2)


def test_beyond_the_stated_shares_there_is_no_truth() -> None:
    with pytest.raises(ValueError, match="up to 65"):
        truth.ln_ratio("medium", 80.0)


@pytest.mark.parametrize("grade", list(truth.FRESH))
def test_every_curve_rises_and_settling_lowers_it(grade: str) -> None:
    for pour in (1, 2, 3):
        curve = [truth.ln_ratio(grade, share, pour) for share in truth.SHARES]
        assert curve == sorted(curve)
    for share in truth.SHARES:
        fresh, second, third = (truth.ln_ratio(grade, share, pour) for pour in (1, 2, 3))
        assert fresh > second > third


@pytest.mark.parametrize("grade", list(truth.FRESH))
def test_small_shares_are_slower_than_straight_base_under_a_screen_only(grade: str) -> None:
    for setup in ("rack", "strainer", "jug_rim"):
        assert truth.ln_ratio(grade, 15.0, 1, setup) >= 0
    for setup in ("sieve", "cut_cup"):
        assert truth.ln_ratio(grade, 15.0, 1, setup) < 0
        for share in (33.3, 40.0, 50.0, 60.0):
            assert truth.ln_ratio(grade, share, 1, setup) == truth.ln_ratio(grade, share)


def test_coarser_grades_rise_further() -> None:
    for share in truth.SHARES:
        fine, medium, coarse = (truth.ln_ratio(grade, share) for grade in ("fine", "medium", "coarse"))
        assert fine < medium < coarse


def test_pumice_and_coir_rise_by_their_part() -> None:
    plain = truth.ln_ratio("medium", 50.0)
    assert truth.ln_ratio("medium", 50.0, component="pumice") == pytest.approx(0.9 * plain)
    assert truth.ln_ratio("medium", 50.0, base="coir") == pytest.approx(0.8 * plain)


def test_spread_adds_the_four_deviations_of_a_new_series() -> None:
    assert truth.spread(40.0) == pytest.approx(sqrt(0.10**2 + 0.10**2 + 0.08**2 + 0.06**2))


def test_half_of_the_growers_clear_where_the_average_is_the_target() -> None:
    assert truth.p_clears(log(1.25), 40.0) == pytest.approx(0.5)


def test_p_clears_against_a_printed_normal_table() -> None:
    # Φ(1.2816) = 0.90: tables of the standard normal distribution, 90th percentile
    average = log(1.25) + 1.2816 * truth.spread(50.0)
    assert truth.p_clears(average, 50.0) == pytest.approx(0.90, abs=1e-4)

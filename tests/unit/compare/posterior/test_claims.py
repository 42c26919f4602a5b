"""Small rules of what may be claimed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.compare.posterior.claims import (
    expected_regret,
    least_regret,
    pot_errors_to_try,
    smallest_enough,
    stands_beside,
)
from pipeline.compare.posterior.companion import Mixture

SHARES = np.array([25.0, 33.3, 35.0, 50.0])


def smallest(verdicts, units):
    words = np.array(verdicts)
    return smallest_enough(
        SHARES, words == "clears", words == "undecided", words != "too_few", np.array(units)
    )


def test_a_sparse_undecided_share_beside_a_well_measured_one_does_not_block() -> None:
    found = smallest(["falls_short", "clears", "undecided", "clears"], [8, 8, 4, 9])
    assert (found.share, found.passed_over) == (33.3, (35.0,))


def test_it_blocks_where_it_is_as_well_measured_or_falls_short() -> None:
    assert smallest(["falls_short", "clears", "undecided", "clears"], [8, 7, 4, 9]).share == 50.0
    assert smallest(["falls_short", "clears", "falls_short", "clears"], [8, 9, 4, 9]).share == 50.0


def test_a_share_passed_over_is_named_only_where_a_smaller_one_clears() -> None:
    found = smallest(["falls_short", "falls_short", "undecided", "clears"], [8, 9, 4, 9])
    assert (found.share, found.passed_over) == (50.0, ())


def test_shares_too_few_measured_are_skipped_and_nothing_enough_is_none() -> None:
    assert smallest(["clears", "too_few", "too_few", "clears"], [8, 1, 2, 9]).share == 25.0
    assert smallest(["clears", "clears", "clears", "falls_short"], [8, 8, 8, 8]).share is None


@given(
    st.lists(st.sampled_from(["clears", "undecided", "falls_short", "too_few"]), min_size=4, max_size=4),
    st.lists(st.integers(0, 20), min_size=4, max_size=4),
)
def test_what_is_enough_clears_and_nothing_above_it_falls_short(verdicts, units) -> None:
    found = smallest(verdicts, units)
    if found.share is not None:
        place = int(np.flatnonzero(found.share == SHARES)[0])
        assert verdicts[place] == "clears"
        assert "falls_short" not in verdicts[place:]
    assert all(share > (found.share or 0) for share in found.passed_over)


def test_beside_is_within_three_points_and_half_the_growers() -> None:
    assert stands_beside(SHARES, np.array([9, 8, 4, 9])).tolist() == [False, False, True, False]


def test_an_assumed_pot_error_is_tried_both_ways_until_three_growers_repeat() -> None:
    member = np.array([0, 0, 1, 2, 3])
    assert pot_errors_to_try(True, np.array([2, 2, 2, 1, 1]), member) == (0.5, 2.0)
    assert pot_errors_to_try(True, np.array([2, 2, 2, 2, 1]), member) == ()
    assert pot_errors_to_try(False, np.ones(5, dtype=int), member) == ()


def test_regret_is_the_mean_loss_of_drawn_series() -> None:
    rng = np.random.default_rng(3)
    series = Mixture(np.array([0.4, 0.6]), np.array([[0.1, 0.5], [0.3, 0.6]]), np.full((2, 2), 0.04))
    which = rng.random(400_000) < 0.6
    for column in range(2):
        drawn = rng.normal(series.mean[which.astype(int), column], 0.2) - np.log(1.25)
        loss = 3.0 * np.maximum(-drawn, 0) + np.maximum(drawn, 0)
        assert expected_regret(series, 1.25, 3.0, 1.0)[column] == pytest.approx(loss.mean(), rel=0.01)


def test_a_heavier_price_of_too_little_never_names_a_smaller_share() -> None:
    series = Mixture(np.ones(1), np.array([[0.0, 0.2, 0.4, 0.6]]), np.full((1, 4), 0.04))
    named = [
        least_regret(list(SHARES), expected_regret(series, 1.25, price, 1.0)) for price in (0.2, 1, 5, 50)
    ]
    assert named == sorted(named)

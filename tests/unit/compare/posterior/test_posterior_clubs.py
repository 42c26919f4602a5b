"""Chances in a few fixed clubs, counted as the finite set they are."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.compare.contrasts.independence import Ties, independence
from pipeline.compare.model.rotation import reduce_layout
from pipeline.compare.posterior.clubs import club_chances
from pipeline.compare.posterior.companion import prior_scales, spread_posterior


@pytest.fixture
def chances(cells_of_means, design_of_cells):
    """Chances in clubs with these ratios at every share, `members` growers each (or a list of numbers)."""
    return lambda ratios, members=4: _chances(cells_of_means, design_of_cells, ratios, members)


def _chances(invented_cells, design_of, ratios, members):
    counts = [members] * len(ratios) if isinstance(members, int) else members
    club_of = np.repeat(np.arange(len(ratios)), counts)
    rng = np.random.default_rng(2)
    means = np.log(np.array(ratios))[club_of][:, None] + rng.normal(0, 0.03, (len(club_of), 4))
    clubs = {member: f"club {club}" for member, club in enumerate(club_of)}
    design = design_of(invented_cells(means, own=0.03), clubs)
    offsets = independence(
        list(clubs), Ties({m: frozenset({c}) for m, c in clubs.items()}, {}, {}), list(clubs)
    ).offsets
    assert offsets is not None
    found = spread_posterior(reduce_layout(design.layout), prior_scales(design, 40.0))
    return club_chances(design, found, offsets, 1.25)


def test_one_slow_club_of_four_forbids_what_the_average_would_allow(chances) -> None:
    given = chances([2.4, 2.4, 2.4, 1.1])
    assert given.chance[:3] == pytest.approx(1.0, abs=0.01)
    assert np.all(given.chance[3] < 0.5)
    assert given.equal == pytest.approx(given.chance.mean(axis=0))
    assert not given.clears(0.80).any()
    assert given.apart.all()


def test_clubs_alike_clear_together(chances) -> None:
    given = chances([2.4, 2.3, 2.4])
    assert given.clears(0.80).all() and not given.apart.any()
    assert np.all(given.p_all <= given.equal)


def test_each_clubs_interval_holds_its_own_ratio(chances) -> None:
    given = chances([2.0, 1.2], members=6)
    for club, ratio in enumerate((2.0, 1.2)):
        assert np.all(given.low[club] < given.ratio[club]) and np.all(given.ratio[club] < given.high[club])
        assert given.ratio[club].mean() == pytest.approx(np.log(ratio), abs=0.08)


def test_a_club_of_two_cannot_forbid_by_itself_but_counts_in_the_average(chances) -> None:
    large = chances([2.4, 2.4, 2.4, 2.4], members=[4, 4, 4, 2])
    assert large.clears(0.80).all()
    slow = chances([2.4, 2.4, 2.4, 1.1], members=[4, 4, 4, 2])
    assert slow.equal.max() < 0.9


def test_members_weigh_where_clubs_differ_in_size(chances) -> None:
    given = chances([2.4, 1.1], members=[9, 3])
    assert np.all(given.by_members > given.equal)


def test_a_mixture_over_clubs_is_as_wide_as_the_clubs_are_apart(chances) -> None:
    given = chances([2.4, 1.1])
    low, high = (float(given.series[0].quantile(level)[0]) for level in (0.025, 0.975))
    assert low < np.log(1.1) < np.log(2.4) < high

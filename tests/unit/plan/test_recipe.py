"""The recipe card."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.plan.recipe import MIXING_LOSS, recipe, simple_parts
from schemas.trade.parts import percent_in


@given(
    st.dictionaries(
        st.sampled_from([0.0, 10.0, 25.0, 33.3, 40.0, 50.0, 66.7]), st.integers(1, 9), min_size=1
    ),
    st.floats(0.1, 20),
)
def test_measured_volumes_have_the_share_and_fill_the_pots(
    fillings: dict[float, int], volume_l: float
) -> None:
    made = recipe(fillings, volume_l, "perlite")
    assert [mix.share for mix in made.mixes] == sorted(fillings)
    for mix in made.mixes:
        loose = mix.base_l + mix.component_l
        assert 100 * mix.component_l / loose == pytest.approx(mix.share)
        left = loose * (1 - MIXING_LOSS) if mix.share else loose
        assert left >= mix.pots * volume_l, "what is left after mixing fills every pot"
        assert left <= 1.06 * mix.pots * volume_l, "and hardly more"
    assert made.base_l == pytest.approx(sum(mix.base_l for mix in made.mixes))
    assert made.component_l == pytest.approx(sum(mix.component_l for mix in made.mixes))
    assert made.wet_kg > made.dry_kg > 0


@pytest.mark.parametrize(
    ("share", "parts"),
    [(0.0, "1:0"), (25.0, "3:1"), (33.3, "2:1"), (40.0, "3:2"), (50.0, "1:1"), (60.0, "2:3"), (41.3, None)],
)
def test_parts_as_the_trade_says_them(share: float, parts: str | None) -> None:
    assert simple_parts(share) == parts


@given(st.integers(0, 1000))
def test_parts_give_the_share(tenths: int) -> None:
    parts = simple_parts(tenths / 10)
    if parts is not None:
        given_by_parts = percent_in(parts)
        assert given_by_parts is not None and abs(given_by_parts - tenths / 10) <= 0.05


def test_sand_weighs_more_than_perlite() -> None:
    assert recipe({50.0: 4}, 1.0, "silica_sand").dry_kg > 3 * recipe({50.0: 4}, 1.0, "perlite").dry_kg

"""The order of the pots: every pot once a pour, blocks, the baseline spread through all, the same seed the same order."""

from __future__ import annotations

from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from pipeline.plan.order import planned_pours

SHARES = st.lists(st.sampled_from([10.0, 25.0, 33.3, 40.0, 50.0, 60.0]), min_size=1, max_size=5, unique=True)


@given(SHARES, st.integers(1, 6), st.integers(0, 4), st.integers(1, 3), st.integers(0, 99))
def test_every_pot_is_poured_once_a_round(
    shares: list[float], pots: int, more: int, pours: int, seed: int
) -> None:
    planned = planned_pours(tuple(shares), pots, pots + more, pours, seed)
    assert [pour.run_order for pour in planned] == list(range(1, len(planned) + 1))
    counted = Counter((pour.share, pour.pot_no, pour.pour_no) for pour in planned)
    expected = {
        (share, pot + 1, pour + 1) for share in shares for pot in range(pots) for pour in range(pours)
    }
    expected |= {(0.0, pot + 1, pour + 1) for pot in range(pots + more) for pour in range(pours)}
    assert set(counted) == expected and set(counted.values()) == {1}
    assert planned == planned_pours(tuple(shares), pots, pots + more, pours, seed)


@given(SHARES, st.integers(2, 6), st.integers(0, 4), st.integers(0, 99))
def test_each_block_holds_every_mix_and_the_baseline(
    shares: list[float], pots: int, more: int, seed: int
) -> None:
    fresh = planned_pours(tuple(shares), pots, pots + more, 1, seed)
    places: dict[float, list[int]] = {}
    for place, pour in enumerate(fresh):
        places.setdefault(pour.share, []).append(place)
        assert pour.pot_no == len(places[pour.share]), "pots are counted as they come"
    for at in range(pots):
        last = max(places[share][at] for share in shares)
        if at + 1 < pots:
            assert last < min(places[share][at + 1] for share in shares), "one block after the other"
    gaps = [after - before for before, after in zip(places[0.0], places[0.0][1:], strict=False)]
    assert all(gap <= 2 * (len(shares) + 1 + (more + pots - 1) // pots) for gap in gaps), (
        "never long without baseline"
    )


def test_seeds_differ() -> None:
    orders = {
        tuple(pour.share for pour in planned_pours((25.0, 40.0, 50.0), 3, 5, 1, seed)) for seed in range(20)
    }
    assert len(orders) > 15

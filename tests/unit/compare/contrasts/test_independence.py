"""Clubs, rounds and shared bags: who counts as one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from pipeline.compare.contrasts.independence import Ties, independence
from schemas.trade.verdicts import ANY_GROWER, THESE_CLUBS

Codes = Mapping[int, Iterable[str]]


def ties(clubs: Codes | None = None, rounds: Codes | None = None, lots: Codes | None = None) -> Ties:
    def frozen(codes: Codes | None) -> dict[int, frozenset[str]]:
        return {member: frozenset(values) for member, values in (codes or {}).items()}

    return Ties(frozen(clubs), frozen(rounds), frozen(lots))


def test_members_without_clubs_stand_alone() -> None:
    found = independence(range(6), ties())
    assert (found.units, found.scope, found.block, found.offsets) == (6, ANY_GROWER, None, None)
    assert [chosen for _, chosen in found.left_out] == [(j,) for j in range(6)]


def test_five_clubs_are_the_units_and_give_a_club_effect() -> None:
    found = independence(range(10), ties(clubs={j: [f"c{j // 2}"] for j in range(10)}))
    assert (found.units, found.scope) == (5, ANY_GROWER)
    assert found.block == {j: j // 2 for j in range(10)}
    assert ("club", (0, 1)) in found.left_out and ("member", (0,)) in found.left_out


def test_few_clubs_narrow_the_scope_and_get_fixed_offsets() -> None:
    found = independence(range(8), ties(clubs={j: ["a" if j < 4 else "b"] for j in range(8)}))
    assert (found.units, found.scope, found.block) == (8, THESE_CLUBS, None)
    assert found.offsets == {j: int(j >= 4) for j in range(8)}


def test_one_club_and_a_few_loners_stay_below_five_and_are_these_clubs() -> None:
    found = independence(range(6), ties(clubs={0: ["a"], 1: ["a"], 2: ["a"], 3: ["a"]}))
    assert found.scope == THESE_CLUBS
    assert found.offsets == {0: 1, 1: 1, 2: 1, 3: 1, 4: 0, 5: 0}


def test_a_round_done_together_counts_once_only_inside_its_club() -> None:
    codes = {0: ["a\tmay"], 1: ["a\tmay"], 2: ["b\tmay"]}
    found = independence(range(7), ties(clubs={0: ["a"], 1: ["a"], 2: ["b"]}, rounds=codes))
    assert found.group[0] == found.group[1] != found.group[2]
    assert ("group", (0, 1)) in found.left_out


def test_a_shared_bag_joins_members_of_different_clubs() -> None:
    found = independence(range(6), ties(lots={1: ["base\tp1"], 4: ["base\tp1"]}))
    assert found.units == 5
    assert found.unit[1] == found.unit[4]
    assert ("group", (1, 4)) in found.left_out

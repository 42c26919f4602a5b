"""A plan as a whole: what is chosen where nothing is said, and wishes that no bench can carry out."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pipeline.errors import WrongUseError
from pipeline.plan.steps import NEW_POOL_SHARES, Known, Wish, plan_test
from pipeline.plan.wanted import KnownShare

WISH = Wish((25.0, 50.0), None, None, 1.25, 1.0, "perlite", 7)
NEW = Known(0.1, False, ())


def test_pots_and_mixes_agree_everywhere() -> None:
    plan = plan_test(WISH, NEW)
    assert plan.shares == (25.0, 50.0)
    fresh = [pour for pour in plan.pours if pour.pour_no == 1]
    assert sum(pour.share == 0 for pour in fresh) == plan.layout.baseline_pots
    assert sum(pour.share == 25 for pour in fresh) == plan.layout.pots
    assert {mix.share: mix.pots for mix in plan.recipe.mixes} == {0.0: 4, 25.0: 3, 50.0: 3}
    assert len(plan.pours) == 2 * len(fresh)


def test_a_new_pool_gets_a_first_test() -> None:
    plan = plan_test(replace(WISH, shares=()), NEW)
    assert plan.chosen_by_pool and plan.shares == NEW_POOL_SHARES and not plan.gains


def test_a_pool_asks_for_what_is_open() -> None:
    shares = tuple(
        KnownShare(share, members, 1.3, (1.1, 1.5), (0.9, 1.9), verdict)
        for share, members, verdict in (
            (25.0, 9, "falls_short"),
            (33.3, 6, "undecided"),
            (40.0, 12, "undecided"),
            (50.0, 20, "clears"),
        )
    )
    plan = plan_test(replace(WISH, shares=()), Known(0.1, True, shares))
    assert plan.shares == (33.3, 40.0)
    assert plan.gains[0].share == 33.3


def test_a_wanted_chance_is_reached() -> None:
    plan = plan_test(replace(WISH, chance=0.9), NEW)
    assert plan.chance >= 0.9


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        (replace(WISH, shares=(100.0,)), "100 %"),
        (replace(WISH, shares=(120.0,)), "more than the whole pot"),
        (replace(WISH, shares=(0.0,)), "above 0"),
        (replace(WISH, shares=tuple(float(share) for share in range(5, 60, 5))), "more than one test day"),
        (replace(WISH, pots=0), "--pots"),
        (replace(WISH, pots=10_000), "--pots"),
        (replace(WISH, pots=1, shares=(40.0,)), "one pot a mix"),
        (replace(WISH, chance=1.0), "--chance"),
        (replace(WISH, chance=0.8, ratio=1.0), "--ratio"),
        (replace(WISH, chance=0.8, ratio=1.001), "too small to be seen"),
    ],
)
def test_what_no_bench_can_do_gets_a_sentence(wish: Wish, words: str) -> None:
    with pytest.raises(WrongUseError, match=words.replace("(", "\\(")):
        plan_test(wish, NEW)

"""Verdict per share and recommendation: contract section 3, methods note section 7."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from pipeline.compare.verdict.verdicts import Advice, Evidence, advise, larger_of, share_verdicts

SHARES = np.array([15.0, 30.0, 45.0, 60.0])


def evidence(
    p: Sequence[float],
    growers: Sequence[int] | None = None,
    others: Sequence[int] | None = None,
    units: Sequence[int] = (8, 8, 8, 8),
    in_fit: int = 8,
    forbidden: bool = False,
) -> Evidence:
    every = np.ones(len(p), dtype=bool)
    return Evidence(
        np.array(p, dtype=float),
        every if growers is None else np.array(growers, dtype=bool),
        every if others is None else np.array(others, dtype=bool),
        np.array(units),
        in_fit,
        forbidden,
    )


def test_verdicts_of_a_plain_pool() -> None:
    given = evidence([0.1, 0.5, 0.9, 0.95])
    assert share_verdicts(given, 0.8) == ["falls_short", "undecided", "clears", "clears"]
    assert advise(SHARES, given, 0.8) == Advice("enough", 45.0, "2:3")


def test_a_larger_share_that_does_not_clear_blocks_and_a_rare_one_does_not() -> None:
    assert advise(SHARES, evidence([0.1, 0.9, 0.9, 0.7]), 0.8).verdict == "not_reached"
    rare = evidence([0.1, 0.9, 0.9, 0.2], units=(8, 8, 8, 3))
    assert advise(SHARES, rare, 0.8).share == 30.0
    assert share_verdicts(rare, 0.8)[3] == "too_few"


def test_one_grower_can_take_enough_away_and_the_verdict_says_so() -> None:
    given = evidence([0.1, 0.5, 0.9, 0.95], growers=[1, 1, 1, 0])
    assert advise(SHARES, given, 0.8).verdict == "hinges_on_one"
    assert share_verdicts(given, 0.8)[3] == "undecided"


def test_other_refits_take_it_away_without_hinging_on_one() -> None:
    assert advise(SHARES, evidence([0.1, 0.5, 0.9, 0.95], others=[1, 1, 1, 0]), 0.8).verdict == "not_reached"


def test_fewer_than_five_growers_give_no_verdict() -> None:
    given = evidence([0.9] * 4, units=(4, 4, 4, 4), in_fit=4)
    assert set(share_verdicts(given, 0.8)) == {"too_few"}
    assert advise(SHARES, given, 0.8).verdict == "too_few"


def test_a_sparse_share_needs_five_growers() -> None:
    given = evidence([0.1, 0.5, 0.9, 0.95], units=(12, 12, 12, 4), in_fit=12)
    assert share_verdicts(given, 0.8)[3] == "undecided"


def test_capped_runs_forbid_clears_and_falls_short() -> None:
    given = evidence([0.1, 0.5, 0.9, 0.95], forbidden=True)
    assert set(share_verdicts(given, 0.8)) == {"undecided"}


@pytest.mark.parametrize(
    ("fresh", "settled", "expected"),
    [
        (Advice("enough", 30.0, "2:1"), Advice("enough", 45.0, "1:1"), ("enough", 45.0)),
        (Advice("enough", 45.0, "1:1"), Advice("enough", 30.0, "2:1"), ("enough", 45.0)),
        (Advice("enough", 30.0, "2:1"), Advice("not_reached", None, None), ("not_reached", None)),
        (Advice("enough", 30.0, "2:1"), Advice("too_few", None, None), ("enough", 30.0)),
        (Advice("enough", 30.0, "2:1"), Advice("hinges_on_one", None, None), ("enough", 30.0)),
        (Advice("not_reached", None, None), Advice("enough", 30.0, "2:1"), ("not_reached", None)),
    ],
)
def test_fresh_and_settled_together(
    fresh: Advice, settled: Advice, expected: tuple[str, float | None]
) -> None:
    both = larger_of(fresh, settled, [30.0, 45.0, 60.0], [45.0, 60.0])
    assert (both.verdict, both.share) == expected

"""Pooled repeatability and the rules for using it (methods note, section 1)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from pipeline.compare.contrasts.repeatability import Repeatability, pool_repeatability


def pooled(
    pots: Sequence[int],
    sum_squares: Sequence[float],
    share: Sequence[float] | None = None,
    member: Sequence[int] | None = None,
    assumed: float = 0.1,
) -> Repeatability:
    count = len(pots)
    return pool_repeatability(
        np.array(pots),
        np.array(sum_squares, dtype=float),
        np.full(count, 30.0) if share is None else np.array(share, dtype=float),
        np.arange(count) if member is None else np.array(member),
        assumed,
    )


def test_pools_sums_of_squares_over_degrees() -> None:
    found = pooled([3] * 6, [0.02] * 6)
    assert (found.measured, found.degrees, found.members) == (True, 12, 6)
    assert found.sd == pytest.approx(0.1)
    assert found.cochran == pytest.approx(1 / 6)


@pytest.mark.parametrize(
    ("pots", "member"), [([2] * 9, range(9)), ([7, 7], [0, 1]), ([12, 2, 2], [0, 1, 2]), ([1, 1], [0, 1])]
)
def test_falls_back_on_the_setting_and_says_why(pots: list[int], member: Sequence[int]) -> None:
    found = pooled(pots, [0.01] * len(pots), member=list(member), assumed=0.07)
    assert (found.measured, found.sd) == (False, 0.07)
    assert "settings" in found.why


def test_takes_the_smaller_where_small_and_large_shares_differ() -> None:
    found = pooled([3] * 12, [0.08] * 6 + [0.02] * 6, share=[10] * 6 + [50] * 6)
    assert found.small == pytest.approx(0.2)
    assert found.large == pytest.approx(0.1)
    assert found.sd == pytest.approx(0.1)


def test_identical_repeats_give_zero_and_no_screen() -> None:
    found = pooled([3] * 6, [0.0] * 6)
    assert (found.sd, found.measured, found.cochran) == (0.0, True, None)

"""Which shares count as one, and parts for mixing by hand (parts and percent: common practice of the trade)."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.compare.contrasts.shares import merged_shares
from pipeline.compare.verdict.parts import parts_for, ratios


def test_a_rarer_share_joins_the_one_more_members_measured() -> None:
    share = np.array([0, 40, 40, 40, 41, 37.9])
    assert merged_shares(share, np.array([1, 1, 2, 3, 4, 5])).tolist() == [0, 40, 40, 40, 40, 37.9]


def test_a_third_and_thirty_five_percent_count_as_one() -> None:
    assert merged_shares(np.array([33.3, 35.0, 35.0]), np.array([1, 2, 3])).tolist() == [35.0, 35.0, 35.0]


def test_a_tie_goes_to_the_smaller_share() -> None:
    assert merged_shares(np.array([33.3, 34.0]), np.array([1, 2])).tolist() == [33.3, 33.3]


def test_joining_does_not_chain() -> None:
    share = np.array([29.5, 31, 31, 32, 32, 32, 33])
    assert merged_shares(share, np.array([1, 1, 2, 1, 2, 3, 4])).tolist() == [29.5, 32, 32, 32, 32, 32, 32]


def test_small_shares_never_join_the_baseline() -> None:
    assert merged_shares(np.array([0, 0, 1.0]), np.array([1, 2, 3])).tolist() == [0, 0, 1.0]


@pytest.mark.parametrize(
    ("share", "clearing", "parts"),
    [
        (40, [40, 50], "3:2"),
        (50, [50, 60], "1:1"),
        (33.3, [33.3, 50], "2:1"),
        (66.7, [66.7], "1:2"),
        (35, [35, 45, 55], "5:3"),
        (45, [45, 55], "4:5"),
        (55, [55], "4:5"),
        (65, [65], None),
        (65, [65, 75], "1:2"),
        (100, [100], "0:1"),
        (45, [45], None),
        (90, [90], None),
        (12, [12], None),
        (15, [15, 20], "5:1"),
    ],
)
def test_parts(share: float, clearing: list[float], parts: str | None) -> None:
    assert parts_for(share, clearing) == parts


def test_ratios_are_in_lowest_terms_and_rise() -> None:
    values = [value for value, _ in ratios()]
    assert values == sorted(set(values))
    assert all(max(map(int, text.split(":"))) <= 5 for _, text in ratios())

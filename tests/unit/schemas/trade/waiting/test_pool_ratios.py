"""Ratios between a pool's mixes by middles alone."""

from __future__ import annotations

import math

import pytest

from schemas.trade.waiting.pool_ratios import on_line, timed_runs, with_levels
from tests.unit.schemas.trade.waiting.test_far_off import POOL, runs


def ratios(times: list[tuple[str, float, float]]) -> dict[float, float | None]:
    levelled = with_levels(timed_runs(runs(times)))
    base = levelled.filter(share=0.0)["ratio"][0]
    return {
        share: None if ratio is None else math.exp(ratio - base)
        for share, ratio in levelled.select("share", "ratio").unique().iter_rows()
    }


def test_wrong_entries_move_no_ratio() -> None:
    right = ratios(POOL)
    assert right[60.0] == pytest.approx(3.0) and right[15.0] == pytest.approx(300 / 290)
    wrong = [(m, s, t * 60 if (m, s) == ("c", 60.0) else t) for m, s, t in POOL]
    assert ratios(wrong)[60.0] == pytest.approx(3.0)


def test_a_rare_share_lies_between_its_neighbours_and_two_members_make_no_ratio() -> None:
    with_rare = [*POOL, ("a", 50.0, 100.0)]
    between = ratios(with_rare)
    assert between[50.0] == pytest.approx(math.sqrt(300 / 180 * 3.0))
    few = with_levels(timed_runs(runs([row for row in POOL if row[0] in "ab"])))
    assert few["ratio"].null_count() == few.height and few["usual"].null_count() == few.height


def test_beyond_the_ends_a_line_is_level() -> None:
    line = [(0, 0.0), (4, 1.0)]
    assert [on_line(line, step) for step in (-1, 0, 2, 4, 9)] == [0.0, 0.0, 0.5, 1.0, 1.0]
    assert on_line(line[:1], 0) is None

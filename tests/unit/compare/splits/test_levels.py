"""Levels of a split beside one another, on contrasts given as arrays; and one part of the pool for itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.compare.arrays import Whole
from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Ties, independence
from pipeline.compare.contrasts.selection import with_codes
from pipeline.compare.splits.by_level import part_lines
from pipeline.compare.splits.levels import MEMBERS_EACH, ratio_of_ratios
from pipeline.compare.steps import compare_levels
from pipeline.settings import Settings
from tests.unit.compare.conftest import MakeFrame, MakePool

NO_TIES = Ties({}, {}, {})


def contrasts(
    members_by_level: Sequence[Sequence[int]], shift: float = 0.0, seed: int = 5
) -> tuple[Effects, Whole]:
    """Two series-wise contrasts (30 %, 60 %) per member and level; the levels above 0 are shifted on the ln scale."""
    rng = np.random.default_rng(seed)
    rows = [
        (member, series, share, share / 100 + rng.normal(0, 0.05) + shift * (level > 0), level)
        for series, (level, member) in enumerate(
            (level, member) for level, members in enumerate(members_by_level) for member in members
        )
        for share in (30.0, 60.0)
    ]
    member, series, share, y, level = (np.array(column) for column in zip(*rows, strict=True))
    count = len(rows)
    effects = Effects(
        member=member.astype(np.int64),
        series=series.astype(np.int64),
        share=share,
        reference=np.zeros(count),
        y=y,
        own_variance=np.full(count, 0.005),
        reference_variance=np.full(count, 0.005),
        pots=np.full(count, 2),
        reference_pots=np.full(count, 2),
    )
    return effects, level.astype(np.int64)


def lines_of(
    members_by_level: Sequence[Sequence[int]],
    shift: float = 0.0,
    names: Sequence[str] = ("open", "sieve", "cup"),
) -> list[dict[str, Any]]:
    effects, level = contrasts(members_by_level, shift)
    growers = independence([int(member) for member in effects.member], NO_TIES)
    lines = ratio_of_ratios(effects, level, names[: len(members_by_level)], growers)
    return cast("list[dict[str, Any]]", lines)


@settings(max_examples=20, deadline=None)
@given(st.floats(-1.0, 1.0))
def test_a_shift_of_one_level_is_a_factor_of_its_lines(shift: float) -> None:
    plain, shifted = lines_of([range(7), range(7, 12)]), lines_of([range(7), range(7, 12)], shift)
    for before, after in zip(plain, shifted, strict=True):
        assert after["ratio_of_ratios"] == pytest.approx(before["ratio_of_ratios"] * np.exp(shift), rel=1e-6)
        assert after["ci"] == pytest.approx([end * np.exp(shift) for end in before["ci"]], rel=1e-6)


def test_each_level_stands_beside_the_one_of_most_growers_and_inside_its_interval() -> None:
    lines = lines_of([range(4), range(4, 12)], 0.7)
    assert {(line["level"], line["against"], line["share"]) for line in lines} == {
        ("open", "sieve", 30.0),
        ("open", "sieve", 60.0),
    }
    for line in lines:
        assert line["ci"][0] < line["ratio_of_ratios"] < line["ci"][1]
        assert line["ci"][0] < np.exp(-0.7) < line["ci"][1]
        assert (line["members"], line["members_against"], line["members_with_both"]) == (4, 8, 0)


@pytest.mark.parametrize("growers", range(1, 6))
def test_fewer_growers_than_the_floor_give_a_sentence_and_no_figure(growers: int) -> None:
    for line in lines_of([range(7), range(7, 7 + growers)]):
        assert (line["ratio_of_ratios"] is None) == (growers < MEMBERS_EACH)
        assert (line["ci"] is None) == ("why" in line) == (growers < MEMBERS_EACH)


def test_a_level_of_too_few_growers_does_not_move_the_others() -> None:
    """Its contrasts once stayed in the model as if they were the reference level's."""
    two, three = lines_of([range(7), range(7, 12)], 0.4), lines_of([range(7), range(7, 12), [12, 13]], 0.4)
    known = [line for line in three if line["ratio_of_ratios"] is not None]
    assert [line["level"] for line in known] == ["sieve", "sieve"]
    for before, after in zip(two, known, strict=True):
        assert after["ratio_of_ratios"] == pytest.approx(before["ratio_of_ratios"], rel=1e-9)


def test_contrasts_without_a_baseline_give_no_line() -> None:
    effects, level = contrasts([range(4), range(4, 8)])
    unbased = Effects(**{**vars(effects), "reference": np.full(len(effects), 15.0)})
    growers = independence([int(member) for member in effects.member], NO_TIES)
    assert ratio_of_ratios(unbased, level, ("open", "sieve"), growers) == []


def test_growers_who_tested_both_levels_tell_the_difference(frame: MakeFrame, pool: MakePool) -> None:
    rows = pool(members=6, series=1) + [
        {
            **row,
            "series": "two",
            "setup_type": "sieve",
            "drain_time_s": row["drain_time_s"] * (2 if row["component_share"] else 1),
        }
        for row in pool(members=6, series=1)
    ]
    lines = compare_levels(frame(rows), "setup_type", Settings())["perlite"]
    assert [line["share"] for line in lines] == [15.0, 30.0, 45.0, 60.0]
    assert all(line["level"] == "sieve" and line["against"] == "rack" for line in lines)
    assert [line["ratio_of_ratios"] for line in lines] == pytest.approx([0.5] * 4, rel=1e-3)
    assert lines[0]["members_with_both"] == 6
    few = compare_levels(frame(rows[:40]), "setup_type", Settings())["perlite"]
    assert all(line["ratio_of_ratios"] is None and line["why"] for line in few)


def test_one_part_is_pooled_from_three_growers_on(frame: MakeFrame, pool: MakePool) -> None:
    lines = part_lines(with_codes(frame(pool(members=8))), "perlite", Settings())
    assert [line["share"] for line in lines] == [15.0, 30.0, 45.0, 60.0]
    for line, truth in zip(lines, (0.05, 0.4, 0.8, 1.0), strict=True):
        assert line["low"] < line["ratio"] < line["high"]
        assert line["ratio"] == pytest.approx(np.exp(truth), rel=0.15)
        assert line["growers"] == 8
    assert part_lines(with_codes(frame(pool(members=2))), "perlite", Settings()) == []
    assert part_lines(with_codes(frame(pool(members=8))), "bark", Settings()) == []

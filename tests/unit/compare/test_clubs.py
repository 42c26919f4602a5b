"""Clubs end to end: scope, fixed offsets with equal weight, leave-one-club-out refits, and growers who share rounds or bags."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any, cast

import numpy as np
import pytest

from pipeline.compare.steps import compare_runs
from pipeline.settings import Settings
from tests.unit.compare.conftest import MakeFrame, MakePool, Rows


def perlite(frame: MakeFrame, rows: Rows, **settings: Any) -> tuple[dict[str, Any], str]:
    comparison = compare_runs(frame(rows), Settings(**settings), behind=False)
    json.dumps(comparison.components, allow_nan=False)
    return cast("dict[str, Any]", comparison.components["perlite"]), comparison.scope


def in_clubs(rows: Rows, clubs: Sequence[str], shift: Mapping[str, float] | None = None) -> Rows:
    """Members dealt to clubs in turn, `shift` added to the ln rate of a club's mixes."""
    dealt = []
    for row in rows:
        club = clubs[int(row["member"][-2:]) % len(clubs)]
        factor = np.exp(-(shift or {}).get(club, 0.0)) if row["component_share"] else 1.0
        dealt.append({**row, "club": club, "drain_time_s": row["drain_time_s"] * factor})
    return dealt


def test_two_clubs_answer_for_themselves_only_and_weigh_equally(frame: MakeFrame, pool: MakePool) -> None:
    rows = in_clubs(pool(members=9, spread=0.01), ["a", "a", "b"], {"b": 0.6})
    block, scope = perlite(frame, rows)
    assert (block["scope"], scope) == ("these clubs", "these clubs")
    at = {share["share"]: np.log(share["ratio"]) for share in block["shares"]}
    assert at[30.0] == pytest.approx(0.4 + 0.3, abs=0.1)
    assert "new grower" not in block["recommendation"]["text"]


def test_clubs_that_differ_take_the_verdict_away_when_one_is_left_out(
    frame: MakeFrame, pool: MakePool
) -> None:
    rows = in_clubs(pool(members=10, spread=0.01, curve={30.0: 0.0, 60.0: 0.1}), ["a", "b"], {"b": 1.2})
    block, _ = perlite(frame, rows)
    assert all(share["verdict"] != "clears" for share in block["shares"])


def test_leaving_out_one_of_two_clubs_equals_the_answer_of_the_other_alone(
    frame: MakeFrame, pool: MakePool
) -> None:
    from pipeline.compare.contrasts.selection import with_codes
    from pipeline.compare.values.component import base_block

    rows = in_clubs(pool(members=10), ["a", "b"], {"b": 0.5})
    both = base_block(
        with_codes(frame(rows)), "perlite", "sphagnum_peat", Settings(), 0.0
    ).states.fresh.fitted
    only_a = [row for row in rows if row["club"] == "a"]
    alone = base_block(
        with_codes(frame(only_a)), "perlite", "sphagnum_peat", Settings(), 0.0
    ).states.fresh.fitted
    assert both is not None and both.leave_one_out is not None and alone is not None
    row = next(
        j
        for j, chosen in enumerate(both.leave_one_out.members)
        if len(chosen) == 5 and set(chosen) == {1, 3, 5, 7, 9}
    )
    assert both.leave_one_out.new_series.mean[row] == pytest.approx(alone.estimate.mean, abs=0.02)


def test_five_clubs_are_a_sample_of_clubs(frame: MakeFrame, pool: MakePool) -> None:
    clubs = ["a", "b", "c", "d", "e"]
    block, scope = perlite(frame, in_clubs(pool(members=15), clubs))
    assert scope == "any grower"
    assert block["shares"][0]["members"] == 15
    assert block["shares"][2]["verdict"] == "clears"
    alone, _ = perlite(frame, pool(members=15))
    width = [
        np.log(b["shares"][2]["new_series"][1] / b["shares"][2]["new_series"][0]) for b in (block, alone)
    ]
    assert width[0] > width[1]


def test_a_club_that_only_lacks_baselines_does_not_decide(frame: MakeFrame, pool: MakePool) -> None:
    rows = [{**row, "club": "a"} for row in pool(members=6)]
    others = [
        {**row, "member": "z" + row["member"], "club": "b"}
        for row in pool(members=4, seed=8)
        if row["component_share"] > 0
    ]
    with_them, _ = perlite(frame, rows + others)
    without, _ = perlite(frame, rows)
    for one, other in zip(with_them["shares"], without["shares"], strict=True):
        assert np.log(one["ratio"]) == pytest.approx(np.log(other["ratio"]), abs=0.1)
        assert one["new_series"] is not None


def test_members_who_share_a_bag_or_a_round_count_once(frame: MakeFrame, pool: MakePool) -> None:
    rows = pool(members=6)
    bag = [{**row, "peat_lot": "p1"} if row["member"] in ("fen-00", "fen-01") else row for row in rows]
    block, _ = perlite(frame, bag)
    assert (block["shares"][0]["members"], block["shares"][0]["growers"]) == (5, 6)
    together = [{**row, "club": "a", "round": "may"} for row in rows]
    block, _ = perlite(frame, together)
    assert {share["verdict"] for share in block["shares"]} == {"too_few"}
    assert block["shares"][0]["members"] == 1

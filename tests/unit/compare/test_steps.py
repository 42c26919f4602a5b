"""The whole stage on small invented pools: values, counts, sentences; nothing that can't be written to results.json."""

from __future__ import annotations

import json
from typing import Any, cast

import numpy as np
import polars as pl
import pytest

from pipeline.compare.steps import compare_runs
from pipeline.compare.values.frames import EFFECT_COLUMNS, MEMBER_COLUMNS
from pipeline.settings import Settings
from tests.unit.compare.conftest import MakeFrame, MakePool, Rows


def perlite(frame: MakeFrame, rows: Rows, **settings: Any) -> dict[str, Any]:
    comparison = compare_runs(frame(rows), Settings(**settings), behind=False)
    json.dumps(comparison.components, allow_nan=False)
    return cast("dict[str, Any]", comparison.components["perlite"])


def test_finds_the_curve_and_advises_the_first_share_that_clears(frame: MakeFrame, pool: MakePool) -> None:
    block = perlite(frame, pool(members=10))
    truth = {15.0: 0.05, 30.0: 0.4, 45.0: 0.8, 60.0: 1.0}
    for share in block["shares"]:
        assert share["ci"][0] < np.exp(truth[share["share"]]) < share["ci"][1]
        assert (
            share["new_series"][0] < share["ci"][0] < share["ratio"] < share["ci"][1] < share["new_series"][1]
        )
        assert (share["members"], share["series"]) == (10, 20)
    assert block["recommendation"]["verdict"] == "enough"
    assert block["recommendation"]["share"] == 30.0
    assert "not yet known for settled pots" in block["recommendation"]["text"]
    assert "better" not in block["recommendation"]["text"]
    assert set(block) >= {
        "shares",
        "heterogeneity",
        "repeatability",
        "recommendation",
        "settled",
        "grades",
        "bases",
    }


def test_settled_pots_have_their_own_answer_and_the_larger_counts(frame: MakeFrame, pool: MakePool) -> None:
    rows = pool(members=10, pours=1)
    later = [
        {**row, "pour_no": 2}
        for row in pool(members=10, seed=2, curve={15.0: 0.0, 30.0: 0.1, 45.0: 0.7, 60.0: 0.9})
    ]
    block = perlite(frame, rows + later)
    assert block["settled"]["pour"] == 2
    assert block["settled"]["recommendation"]["share"] == 45.0
    assert block["recommendation"]["share"] == 45.0
    assert "the larger counts" in block["recommendation"]["text"]


def test_grades_that_differ_leave_the_pooled_recommendation_empty(frame: MakeFrame, pool: MakePool) -> None:
    steep = {30.0: 0.9, 45.0: 1.2}
    coarse = pool(members=10, curve=steep, component_grade="coarse")
    fine = [
        {**row, "member": "z" + row["member"]}
        for row in pool(members=6, seed=5, curve={30.0: 0.0, 45.0: 0.3}, spread=0.01, component_grade="fine")
    ]
    block = perlite(frame, coarse + fine, assurance=0.6)
    assert block["grades"]["coarse"]["recommendation"]["share"] == 30.0
    assert block["grades"]["fine"]["shares"][0]["verdict"] in ("falls_short", "undecided")
    assert block["recommendation"]["verdict"] in ("grades_differ", "hinges_on_one", "not_reached")
    assert block["recommendation"]["share"] is None


def test_dry_aged_planted_and_marked_runs_stand_in_no_headline(frame: MakeFrame, pool: MakePool) -> None:
    rows = pool(members=5)
    odd: list[dict[str, Any]] = [
        {"start_moisture": "dry"},
        {"start_moisture": None, "pre_wetted": "no"},
        {"mix_age_days": 31.0},
        {"planted": "yes"},
        {"part_marked": True},
        {"unlike_pour": True},
    ]
    extra = [
        {**row, "series": f"odd {j}", **mark}
        for j, mark in enumerate(odd)
        for row in pool(members=5, series=1)
    ]
    assert perlite(frame, rows + extra)["shares"] == perlite(frame, rows)["shares"]
    blank = [{**row, "start_moisture": None} for row in rows]
    assert perlite(frame, blank)["shares"] == perlite(frame, rows)["shares"]


def test_order_of_rows_and_spelling_change_nothing(frame: MakeFrame, pool: MakePool) -> None:
    rows = pool(members=6)
    shuffled = [rows[j] for j in np.random.default_rng(0).permutation(len(rows))]
    assert perlite(frame, shuffled) == perlite(frame, rows)


@pytest.mark.parametrize("members", [1, 2])
def test_one_or_two_growers_have_counts_and_no_figures(
    frame: MakeFrame, pool: MakePool, members: int
) -> None:
    block = perlite(frame, pool(members=members))
    for share in block["shares"]:
        assert (share["verdict"], share["ratio"], share["members"]) == ("too_few", None, members)
        assert share["why"]
    assert block["recommendation"]["verdict"] == "too_few"
    assert block["heterogeneity"]["sd_member"] is None


def test_three_growers_have_means_and_no_verdict(frame: MakeFrame, pool: MakePool) -> None:
    block = perlite(frame, pool(members=3))
    assert all(
        share["ratio"] and share["new_series"] and share["verdict"] == "too_few" for share in block["shares"]
    )


def test_other_bases_are_counted_apart(frame: MakeFrame, pool: MakePool) -> None:
    coir = [{**row, "base": "coir", "series": "coir " + row["series"]} for row in pool(members=3)]
    block = perlite(frame, pool(members=6) + coir)
    assert block["bases"]["coir"]["counts"]["members"] == 3
    assert block["shares"] == perlite(frame, pool(members=6))["shares"]
    many = [{**row, "base": "coir", "series": "coir " + row["series"]} for row in pool(members=6)]
    assert perlite(frame, pool(members=6) + many)["bases"]["coir"]["shares"][0]["ratio"]


def test_frames_hold_every_contrast_and_every_member(frame: MakeFrame, pool: MakePool) -> None:
    comparison = compare_runs(frame(pool(members=6, pours=2)), Settings(), behind=False)
    assert list(comparison.effects.schema) == list(EFFECT_COLUMNS)
    assert list(comparison.members.schema) == list(MEMBER_COLUMNS)
    assert comparison.effects.filter(pl.col("state") == "fresh").height == 6 * 2 * 4
    assert comparison.members.filter(pl.col("state") == "settled").height == 6 * 4
    low, ratio, high = (comparison.members[name].to_numpy() for name in ("ratio_low", "ratio", "ratio_high"))
    assert np.all((low < ratio) & (ratio < high))


def test_an_empty_pool_gives_an_empty_comparison(frame: MakeFrame) -> None:
    comparison = compare_runs(frame([]), Settings())
    assert comparison.components == {}
    assert comparison.effects.height == comparison.members.height == 0


def test_shares_that_clear_below_one_that_does_not_are_told(frame: MakeFrame, pool: MakePool) -> None:
    rows = pool(members=10)
    for row in rows:
        if row["component_share"] == 60.0:
            row["drain_time_s"] *= 2.6
    value = compare_runs(frame(rows), Settings(), behind=False).components["perlite"]
    assert [row["verdict"] for row in value["shares"]][1:3] == ["clears", "clears"]
    assert value["recommendation"]["verdict"] == "not_reached"
    assert "45 % drains at least 1.25 times" in value["recommendation"]["text"]
    assert "but 60 %, a larger tested share, is not shown to" in value["recommendation"]["text"]

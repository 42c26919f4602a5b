"""What stands behind the headline: every key filled or explained, and each able to find what was put in."""

from __future__ import annotations

import json
from typing import Any, cast

import numpy as np
import pytest

from pipeline.compare.behind.moderators import holm
from pipeline.compare.steps import compare_runs
from pipeline.settings import Settings
from tests.unit.compare.conftest import MakeFrame, MakePool, Rows

KEYS = [
    "sensitivity",
    "choices",
    "robustness",
    "evidence",
    "spread_intervals",
    "contrasts",
    "exploratory",
    "settling",
    "small_shares",
    "bend",
    "agreement",
    "apart",
    "rests_on",
    "regret",
]


def perlite(frame: MakeFrame, rows: Rows, **settings: Any) -> dict[str, Any]:
    comparison = compare_runs(frame(rows), Settings(**settings))
    json.dumps(comparison.components, allow_nan=False)
    return cast("dict[str, Any]", comparison.components["perlite"])


@pytest.mark.parametrize("members", [1, 2, 3, 5, 8])
def test_every_key_stands_at_any_size(frame: MakeFrame, pool: MakePool, members: int) -> None:
    assert set(KEYS) <= set(perlite(frame, pool(members=members, pours=2)))


def test_holm_steps_down_and_keeps_the_untested_empty() -> None:
    assert holm([0.01, None, 0.04, 0.03]) == [
        pytest.approx(0.04),
        None,
        pytest.approx(0.09),
        pytest.approx(0.09),
    ]


def test_robustness_lines_agree_with_the_headline_and_say_where_they_cannot(
    frame: MakeFrame, pool: MakePool
) -> None:
    block = perlite(frame, pool(members=8))
    lines = {line["check"]: line for line in block["robustness"]}
    share = block["recommendation"]["share"]
    headline = next(one for one in block["shares"] if one["share"] == share)
    assert lines["headline"]["ratio"] == headline["ratio"]
    plain = headline["reml"]["p_clears"]
    assert lines["headline"]["p_clears"] == pytest.approx(plain), "every line is the plain model's"
    assert lines["worst_without_one"]["p_clears"] <= plain
    assert lines["repeated_only"]["ratio"] == pytest.approx(headline["ratio"])
    assert lines["settled"]["ratio"] is None and lines["settled"]["why"]
    assert lines["commonest_setup"]["words"] == "only pots held on a rack"


def test_choices_hold_the_clubs_own_and_fall_with_the_target(frame: MakeFrame, pool: MakePool) -> None:
    block = perlite(frame, pool(members=8))
    own = [one for one in block["choices"] if (one["target_ratio"], one["assurance"]) == (1.25, 0.8)]
    assert own[0]["share"] == block["recommendation"]["share"]
    hardest = [one for one in block["choices"] if (one["target_ratio"], one["assurance"]) == (2.0, 0.9)]
    assert hardest[0]["share"] is None or hardest[0]["share"] > own[0]["share"]


def test_settling_finds_the_change_between_pours(frame: MakeFrame, pool: MakePool) -> None:
    first = pool(members=10, pots=2, pours=1)
    second = [
        {**row, "pour_no": 2, "drain_time_s": row["drain_time_s"] * (1.3 if row["component_share"] else 1.1)}
        for row in first
    ]
    block = perlite(frame, first + second)
    change = block["settling"]["pours"][0]
    assert (change["pour"], change["members"]) == (2, 10)
    assert change["ratio_of_ratios"] == pytest.approx(1.1 / 1.3, rel=1e-6)
    assert [one["ratio_of_ratios"] for one in change["shares"]] == pytest.approx([1.1 / 1.3] * 4, rel=1e-6)
    contrast = next(one for one in block["contrasts"] if one["contrast"] == "settled")
    assert contrast["ratio_of_ratios"] == pytest.approx(1.1 / 1.3, rel=1e-6)


def test_predeclared_contrasts_find_a_planted_difference_and_are_six(
    frame: MakeFrame, pool: MakePool
) -> None:
    rows = pool(members=12, series=1) + [
        {
            **row,
            "series": "fine",
            "component_grade": "fine",
            "drain_time_s": row["drain_time_s"] * (1.5 if row["component_share"] > 25 else 1.0),
        }
        for row in pool(members=12, series=1)
    ]
    block = perlite(frame, rows)
    names = [one["contrast"] for one in block["contrasts"]]
    assert names == ["fine", "pot_volume", "screened", "dry_start", "settled", "cold_water"]
    fine = block["contrasts"][0]
    assert fine["ratio_of_ratios"] == pytest.approx(1 / 1.5, rel=1e-3)
    assert (fine["members_with_both"], fine["p"] < 0.01) == (12, True)
    assert all(one["p"] is None and one["why"] for one in block["contrasts"][1:])


def test_dry_starts_have_a_table_and_a_contrast_of_their_own(frame: MakeFrame, pool: MakePool) -> None:
    dry = [
        {
            **row,
            "series": "dry",
            "start_moisture": "dry",
            "drain_time_s": row["drain_time_s"] * (2 if row["component_share"] else 1),
        }
        for row in pool(members=6, series=1)
    ]
    block = perlite(frame, pool(members=6, series=1) + dry)
    assert block["apart"]["dry"]["shares"][0]["members"] == 6
    contrast = next(one for one in block["contrasts"] if one["contrast"] == "dry_start")
    assert contrast["ratio_of_ratios"] == pytest.approx(0.5, rel=1e-3)


def test_small_shares_that_slow_are_found_and_flat_ones_rule_out_a_slowing(
    frame: MakeFrame, pool: MakePool
) -> None:
    slow = perlite(frame, pool(members=10, curve={15.0: -0.3, 40.0: 0.5}, spread=0.03))["small_shares"][
        "shares"
    ]
    assert slow[0]["p_slower"] < 0.01
    flat = perlite(frame, pool(members=10, curve={15.0: 0.0, 40.0: 0.5}, spread=0.03))["small_shares"][
        "shares"
    ]
    assert flat[0]["p_slower"] > 0.01
    assert 0.8 < flat[0]["slower_than_ruled_out"] < 1.0
    few = perlite(frame, pool(members=4))["small_shares"]["shares"]
    assert few[0]["p_slower"] is None and few[0]["why"]


def test_the_bend_is_found_near_where_it_was_put(frame: MakeFrame, pool: MakePool) -> None:
    curve = {10.0: 0.0, 20.0: 0.0, 30.0: 0.0, 40.0: 0.4, 50.0: 0.8, 60.0: 1.2}
    bend = perlite(frame, pool(members=10, curve=curve, spread=0.02))["bend"]
    assert abs(bend["knots"][0] - 30) < 5
    assert bend["interval"][0] <= bend["knots"][0] <= bend["interval"][1]
    assert perlite(frame, pool(members=6, curve=curve))["bend"]["knots"] is None


def test_spread_estimated_as_zero_is_never_called_agreement_below_eight(
    frame: MakeFrame, pool: MakePool
) -> None:
    rows = [
        {**row, "drain_time_s": 120.0 if row["component_share"] == 0 else 90.0} for row in pool(members=6)
    ]
    words = perlite(frame, rows)["spread_intervals"]["words"]
    assert "does not mean that they agree" in words


def test_profile_intervals_hold_the_estimate(frame: MakeFrame, pool: MakePool) -> None:
    for one in perlite(frame, pool(members=10))["spread_intervals"].values():
        assert one["low"] <= one["sd"] + 1e-9 and (one["high"] is None or one["sd"] <= one["high"])


def test_series_without_a_baseline_sharpen_and_never_count(frame: MakeFrame, pool: MakePool) -> None:
    rows = pool(members=8)
    only = [
        {**row, "member": "z" + row["member"]}
        for row in pool(members=4, seed=9)
        if row["component_share"] > 0
    ]
    with_them, without = perlite(frame, rows + only), perlite(frame, rows)
    assert [one["members"] for one in with_them["shares"]] == [one["members"] for one in without["shares"]]
    assert with_them["shares"] != without["shares"]
    assert with_them["evidence"]["series_by_differences"] == 8
    assert with_them["evidence"]["p"] > 0.001


def test_one_grower_unlike_the_rest_is_asked_about_and_never_named_in_the_results(
    frame: MakeFrame, pool: MakePool
) -> None:
    rows = pool(members=9) + [
        {
            **row,
            "member": "odd-one",
            "drain_time_s": row["drain_time_s"] * (0.2 if row["component_share"] else 1),
        }
        for row in pool(members=1, seed=4)
    ]
    comparison = compare_runs(frame(rows), Settings())
    assert comparison.questions.filter(kind="member")["member"].to_list() == ["odd-one"]
    assert comparison.components["perlite"]["agreement"]["members_beyond_3"] == 1
    assert "odd-one" not in json.dumps(comparison.components)


def test_beside_another_share(frame: MakeFrame, pool: MakePool) -> None:
    runs = frame(pool(members=8))
    block = compare_runs(runs, Settings(), against=30.0).components["perlite"]
    shares = {one["share"]: one for one in block["shares"]}
    assert list(shares) == [0.0, 15.0, 45.0, 60.0]
    assert shares[60.0]["ratio"] == pytest.approx(np.exp(0.6), rel=0.1)
    assert block["recommendation"]["share"] is None


def test_a_slowing_of_settled_pots_is_told_like_one_of_fresh_pots(frame: MakeFrame, pool: MakePool) -> None:
    rows = [
        {**row, "drain_time_s": row["drain_time_s"] * (1.3 if row["pour_no"] == 2 and row["component_share"] == 15.0 else 1.0)}
        for row in pool(members=10, curve={15.0: 0.0, 40.0: 0.5}, spread=0.03, pours=2)
    ]  # fmt: skip
    small = perlite(frame, rows)["small_shares"]
    (fresh,), (settled,) = small["shares"], small["settled"]
    assert settled["share"] == fresh["share"] == 15.0
    assert settled["p_slower"] < 0.05 < fresh["p_slower"]


def test_series_are_no_growers_and_one_grower_with_many_moves_no_centre(
    frame: MakeFrame, pool: MakePool
) -> None:
    few = pool(members=8, series=1, spread=0.02)
    loud = [
        {
            **row,
            "member": "loud",
            "drain_time_s": row["drain_time_s"] / (2.0 if row["component_share"] else 1.0),
        }
        for row in pool(members=1, series=30, spread=0.0, seed=9)
    ]
    block = perlite(frame, few + loud)
    agreement = block["agreement"]
    plain = perlite(frame, few)["agreement"]
    assert agreement["robust_ratio"] == pytest.approx(plain["robust_ratio"], rel=0.1)
    cv = block["repeatability"]["cv_member"]
    assert agreement["growers_within"] == pytest.approx(np.exp(2.8 * np.sqrt(np.log1p(cv**2))))


def test_what_all_tests_share_and_who_made_most_of_them_is_counted(frame: MakeFrame, pool: MakePool) -> None:
    one_bag = pool(members=5, series=1, pots=1, peat_lot="bag 7")
    many = [{**row, "member": "many"} for row in pool(members=1, series=12, pots=1, peat_lot="Bag 7")]
    rests = perlite(frame, one_bag + many)["rests_on"]
    assert rests["shared_by_all"] == ["one bag of base"]
    assert rests["largest_part_of_series"] == pytest.approx(12 / 17)
    apart = perlite(
        frame,
        [
            *pool(members=2, series=1, pots=1, peat_lot="bag 7"),
            *[{**row, "member": "other"} for row in pool(members=1)],
        ],
    )["rests_on"]
    assert apart["shared_by_all"] == [] and apart["largest_part_of_series"] == pytest.approx(2 / 4)
    assert perlite(frame, pool(members=2))["rests_on"]["largest_part_of_series"] is None

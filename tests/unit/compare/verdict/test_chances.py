"""Stated chances: pools that agree by luck, clubs that differ, near shares, an assumed pot error, numbers too alike."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.compare.contrasts.selection import with_codes
from pipeline.compare.steps import compare_runs
from pipeline.compare.values.component import base_block
from pipeline.compare.verdict.verdicts import Evidence, advise
from pipeline.settings import Settings


def block_of(frame, rows, **settings):
    return compare_runs(frame(rows), Settings(**settings), behind=False).components["perlite"]


def exact_rows(ratio_of_member, share=40.0, **same):
    """One series of one pot a mix for each grower, who shows exactly this ratio."""
    return [
        {
            "member": f"fen-{i:02d}",
            "series": "a",
            "component_share": at,
            "drain_time_s": seconds,
            **more,
            **same,
        }
        for i, (ratio, more) in enumerate(ratio_of_member)
        for at, seconds in ((0.0, 120.0), (share, 120.0 / ratio))
    ]


def test_growers_who_agree_by_luck_leave_room_for_others(frame):
    """Five single tests of one ratio: the plain estimate has no spread between growers, the stated chance has."""
    rows = exact_rows([(ratio, {}) for ratio in (1.48, 1.49, 1.5, 1.51, 1.52)])
    share = block_of(frame, rows)["shares"][0]
    assert share["reml"]["p_clears"] > 0.95
    assert 0.7 < share["p_clears"] < share["reml"]["p_clears"] - 0.02
    assert share["new_series"][0] < share["reml"]["new_series"][0] + 0.05
    assert share["p_all"] == pytest.approx(share["p_clears"], abs=0.01)


def test_spreads_are_never_told_as_none(frame):
    spread = block_of(frame, exact_rows([(1.5, {})] * 8))["heterogeneity"]
    assert spread["sd_member"] == pytest.approx(0.0, abs=1e-6)
    assert spread["sd_member_median"] > 0.01 and spread["prior_scale"] == 0.25


def test_numbers_more_alike_than_pots_repeat_are_not_trusted(frame, pool):
    rows = [{**row, "drain_time_s": 120.0 if row["component_share"] else 180.0} for row in pool(members=8)]
    block = block_of(frame, rows, stopwatch_step_s=0.0)
    assert block["heterogeneity"]["alike"] is True
    assert "not to be trusted" in block["heterogeneity"]["why"]
    assert "not to be trusted" in block["recommendation"]["text"]


def test_one_slow_club_of_four_takes_the_verdict_and_is_named_before_any_average(frame):
    ratios = {"ash": 2.4, "elm": 2.4, "fir": 2.4, "yew": 1.1}
    jitter = (0.97, 1.0, 1.03)
    growers = [(ratio * j, {"club": club}) for club, ratio in ratios.items() for j in jitter]
    block = block_of(frame, exact_rows(growers))
    share = block["shares"][0]
    assert block["scope"] == "these clubs"
    assert share["verdict"] == "undecided"
    assert share["p_clears"] == pytest.approx(0.8, abs=0.08)
    assert {line["club"]: pytest.approx(line["ratio"], rel=0.06) for line in share["clubs"]} == ratios
    assert share["clubs"][3]["p_clears"] < 0.5 < share["clubs"][0]["p_clears"]
    text = block["recommendation"]["text"]
    assert "Clubs differ: ash 2.4, elm 2.4, fir 2.4, yew 1.1 times as fast" in text


def test_a_club_of_two_growers_has_no_figures(frame):
    growers = [(1.8, {"club": "ash"})] * 4 + [(1.7, {"club": "elm"})] * 2
    lines = block_of(frame, exact_rows(growers))["shares"][0]["clubs"]
    assert [line["club"] for line in lines] == ["ash", "elm"]
    assert (lines[1]["members"], lines[1]["ratio"], lines[1]["why"]) == (None, None, "Fewer than 3 growers.")


NEAR = np.array([33.3, 35.0, 50.0])


def near_evidence(p, units=(8, 4, 8)):
    every = np.ones(3, dtype=bool)
    return Evidence(np.array(p), every, every, np.array(units), 8, False)


def test_an_undecided_share_beside_a_better_measured_one_does_not_block():
    advice = advise(NEAR, near_evidence([0.9, 0.6, 0.95]), 0.8)
    assert (advice.verdict, advice.share, advice.passed_over) == ("enough", 33.3, (35.0,))
    assert advise(NEAR, near_evidence([0.9, 0.6, 0.95], (8, 5, 8)), 0.8).share == 50.0


def test_a_near_share_that_falls_short_blocks():
    assert advise(NEAR, near_evidence([0.9, 0.1, 0.95]), 0.8).share == 50.0
    assert advise(NEAR, near_evidence([0.9, 0.1, 0.7]), 0.8).verdict == "not_reached"


@pytest.mark.parametrize(("pots", "refits"), [(1, 2), (2, 0)])
def test_an_assumed_pot_error_is_tried_at_half_and_at_twice_its_value(frame, pool, pots, refits):
    """Three growers with two pots a mix need no such care, though their nine repeats are too few to measure it."""
    rows = pool(members=5, series=1, pots=1, curve={30.0: 0.5, 60.0: 0.9})
    again = [{**row, "pot_no": 2} for row in rows if row["member"] < "fen-03"] if pots == 2 else []
    block = base_block(with_codes(frame(rows + again)), "perlite", "sphagnum_peat", Settings(), 0.0, False)
    fitted, repeat = block.states.fresh.fitted, block.states.fresh.repeatability
    assert repeat.measured is False and fitted is not None
    assert len(fitted.others) == refits


def test_the_recommendation_says_whose_answer_it_is(frame, pool):
    rows = pool(members=8, curve={30.0: 0.6, 60.0: 1.0})
    later = [{**row, "pour_no": 2} for row in pool(members=8, seed=2, curve={30.0: 0.1, 60.0: 0.9})]
    block = block_of(frame, rows + later)
    advice, settled = block["recommendation"], block["settled"]["shares"][1]
    assert (advice["deciding_state"], advice["share"]) == ("settled", 60.0)
    for key in ("ratio", "ci", "new_series", "p_clears", "p_all"):
        assert advice[key] == settled[key]
    assert advice["behind"] == {"members": 8, "series": 16, "pots": 32}
    assert block["grades"]["fine"]["recommendation"]["behind"] is None

"""A sheet's own result: every figure worked out by hand beside it."""

from __future__ import annotations

from typing import Any

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.check.steps import Checked
from pipeline.jobs.own_result.contrasts import SCHEMA
from pipeline.jobs.own_result.others import OtherGrowers
from pipeline.jobs.own_result.steps import own_results
from pipeline.jobs.own_result.wording import MOST_SERIES, receipt_lines
from pipeline.settings import Settings
from schemas.receipt import SeriesResult
from tests.unit.check.sheets import base, check, check_many, mix


def result_of(*rows: dict[str, Any]) -> SeriesResult:
    (result,) = results_of(check(*rows))
    return result


def results_of(checked: Checked, others: OtherGrowers | None = None) -> list[SeriesResult]:
    return own_results(checked, Settings(), others)[0]


def lines_of(*rows: dict[str, Any]) -> list[str]:
    return [text for _, text in receipt_lines([result_of(*rows)])]


def growers(*ratios: float, share: float = 40.0, first: str = "g0") -> OtherGrowers:
    """A pool in which each grower found one of these ratios."""
    rows = [
        {
            "component": "perlite",
            "base": "sphagnum_peat",
            "member_key": first if place == 0 else f"g{place}",
            "component_share": share,
            "ratio": ratio,
        }
        for place, ratio in enumerate(ratios)
    ]
    frame = pl.DataFrame(rows, schema_overrides=SCHEMA).with_columns(effect=pl.col("ratio").log())
    return OtherGrowers(frame)


def test_rates_ratio_and_repeats_are_those_of_a_pocket_calculator() -> None:
    result = result_of(base(), mix(), mix(pot_no=2, drain_time_s=220.0))
    # 150 ml in 310, 205 and 220 s from 1 l
    assert [pot["rate_ml_min_l"] for pot in result["pots"]] == [29.0323, 43.9024, 40.9091]
    (ratio,) = result["ratios"]
    assert ratio["share"] == 40.0 and ratio["pots"] == 2 and ratio["others"] is None
    assert ratio["ratio"] == pytest.approx((43.9024 * 40.9091) ** 0.5 / 29.0323, rel=1e-5)
    assert result["repeat_factor"] == pytest.approx(220 / 205, rel=1e-5)
    assert result["by_hand"] == "150 ml in 5 min 10 s from 1 l: 29 ml a minute per litre"
    assert result["notes"] == []


def test_the_lines_of_a_receipt() -> None:
    assert lines_of(base(), mix(), mix(pot_no=2, drain_time_s=220.0), mix(pour_no=2, drain_time_s=400.0)) == [
        "Your own result, before the month, in ml a minute from each litre of mix:",
        "bench A: perlite",
        "0 %: 29",
        "40 %: 44, 41; poured again 22; 1.5 times as fast as your straight peat",
        "Between two pots of one mix: a factor of 1.07 at most.",
        "By hand: 150 ml in 5 min 10 s from 1 l: 29 ml a minute per litre.",
    ]


@pytest.mark.parametrize(
    ("rows", "note"),
    [
        ([mix()], "No straight base in this series, so nothing to set it beside."),
        ([base(ended="stopped"), mix()], "still dripped: it is slower than that"),
        ([base(ended="ran_dry"), mix()], "No pot of straight base that was freshly filled"),
        ([base(pour_no=2), mix()], "No pot of straight base that was freshly filled"),
        ([base(), mix(ended="stopped")], "40 %: the clock was stopped while it still dripped"),
        ([base(), mix(ended="ran_dry")], "40 %: ran dry, the mix kept the water"),
        ([base(), mix(start_moisture="dry")], "1 pour counted apart, without a ratio: dry start."),
        (
            [base(), mix(poured_ml=400.0, collected_ml=200.0)],
            "1 pour counted apart, without a ratio: unlike pour.",
        ),
    ],
)
def test_what_has_no_ratio_says_why(rows: list[dict[str, Any]], note: str) -> None:
    result = result_of(*rows)
    assert result["ratios"] == []
    assert any(note in sentence for sentence in result["notes"]), result["notes"]


def test_a_stopped_pot_has_a_bound_and_no_rate() -> None:
    (_, stopped) = result_of(base(), mix(ended="stopped"))["pots"]
    assert stopped["rate_ml_min_l"] is None and stopped["slower_than_ml_min_l"] == 43.9024
    assert "40 %: under 44" in lines_of(base(), mix(ended="stopped"))


def test_straight_base_alone_is_no_lack() -> None:
    assert result_of(base(), base(pot_no=2))["notes"] == []


def test_others_are_counted_by_grower_and_without_the_sender() -> None:
    checked = check(base(), mix())  # 1.512 times as fast
    (result,) = results_of(checked, growers(1.1, 1.4, 1.6, 1.7))
    assert result["ratios"][0]["others"] == {"members": 4, "less": 2}
    (result,) = results_of(checked, growers(1.1, 1.4, 1.6, 1.7, first="fen-07"))
    assert result["ratios"][0]["others"] == {"members": 3, "less": 1}
    assert "(1 of 3 other growers found less)" in receipt_lines([result])[3][1]


@pytest.mark.parametrize("share", [38.0, 42.0])
def test_near_shares_of_others_count_as_in_the_comparison(share: float) -> None:
    (result,) = results_of(check(base(), mix()), growers(1.1, 1.4, 1.6, share=share))
    assert result["ratios"][0]["others"] == {"members": 3, "less": 2}
    (result,) = results_of(check(base(), mix()), growers(1.1, 1.4, 1.6, share=share + (share - 40)))
    assert result["ratios"][0]["others"] is None


@given(st.lists(st.floats(0.2, 9.0), max_size=2))
def test_no_figure_rests_on_fewer_than_three_others(ratios: list[float]) -> None:
    (result,) = results_of(check(base(), mix()), growers(*ratios) if ratios else None)
    assert result["ratios"][0]["others"] is None


def test_each_sheet_gets_what_it_would_get_alone() -> None:
    sheets = [
        [base(), mix(component_share=33.3)],
        [base(), mix(component_share=35.0, drain_time_s=100.0)],
        [base(member="fen-08"), mix(member="fen-08", component_share=35.0)],
    ]
    together = own_results(check_many(*sheets), Settings())
    assert [together[number] for number in range(3)] == [results_of(check(*rows)) for rows in sheets]


def test_an_unreadable_or_held_sheet_has_an_empty_list() -> None:
    assert own_results(check(mix(collected_ml=999.0)), Settings()) == {0: []}
    assert receipt_lines([]) == []


def test_a_long_sheet_stays_short() -> None:
    rows = [make(series=f"s{number}") for number in range(20) for make in (base, mix)]
    lines = receipt_lines(results_of(check(*rows)))
    assert sum(depth == 1 for depth, _ in lines) == MOST_SERIES + 1
    assert lines[-1][1].startswith("14 more series, not shown here:")


def test_a_sheet_of_several_members_names_them() -> None:
    lines = receipt_lines(results_of(check(base(), mix(), base(member="fen-08"), mix(member="fen-08"))))
    assert [text for depth, text in lines if depth == 1] == [
        "fen-07, bench A: perlite",
        "fen-08, bench A: perlite",
    ]

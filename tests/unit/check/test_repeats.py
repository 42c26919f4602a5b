"""One name, one run: identical repeats count once, different ones are all held; and the baseline mix."""

from __future__ import annotations

import pytest

from tests.unit.check.sheets import base, check, message, mix, said


def test_an_identical_repeat_is_left_out_with_advice_and_counts_as_held() -> None:
    checked = check(base(), mix(notes="first", run_order=1), mix(notes="again", run_order=9))
    assert said(checked) == [(4, "repeat_identical")]
    assert checked.problems["level"].to_list() == ["advice"]
    assert checked.files.select("rows", "accepted", "held").rows() == [(3, 2, 1)]
    assert checked.held.select("sheet_row", "level").rows() == [(4, "advice")]
    assert checked.held["reasons"].to_list() == [["repeat_identical"]]
    assert "row 3" in message(checked, "repeat_identical")


def test_the_same_amount_in_another_unit_is_identical() -> None:
    cup, pints = 236.5882365, 0.5 * 473.176473 * (1 + 1e-13)
    checked = check(base(poured_ml=cup, collected_ml=118.0), mix(poured_ml=cup), mix(poured_ml=pints))
    assert (4, "repeat_identical") in said(checked)


def test_different_repeats_are_all_held() -> None:
    checked = check(base(), mix(), mix(drain_time_s=210.0, water_temp_c=18.0))
    assert said(checked) == [(3, "repeat_differs"), (4, "repeat_differs")]
    told = message(checked, "repeat_differs", 4)
    assert "Rows 3 and 4" in told and "drain_time and water_temp" in told
    assert checked.accepted["sheet_row"].to_list() == [2]


def test_of_three_the_identical_one_is_left_out_and_the_others_held() -> None:
    checked = check(base(), mix(), mix(), mix(drain_time_s=210.0))
    assert said(checked) == [(3, "repeat_differs"), (4, "repeat_identical"), (5, "repeat_differs")]
    assert checked.accepted.height == 1


@pytest.mark.parametrize(
    ("shares", "accepted"),
    [((33.0, 33.5), 1), ((33.0, 33.6), 3), ((33.3, 33.3), 1), ((0.0, 0.4), 2)],
)
def test_shares_within_half_a_point_are_one(shares: tuple[float, float], accepted: int) -> None:
    first, second = shares
    checked = check(
        base(pot_no=9),
        mix(component_share=first),
        mix(component_share=second, drain_time_s=211.0),
    )
    assert checked.accepted.height == (accepted if accepted != 2 else 1)


def test_a_share_within_half_a_point_with_the_same_values_is_a_repeat() -> None:
    checked = check(base(), mix(component_share=33.3), mix(component_share=33.0))
    assert said(checked) == [(4, "repeat_identical")]


@pytest.mark.parametrize("change", [{"pot_no": 2}, {"pour_no": 2}, {"series": "B"}, {"member": "fen-08"}])
def test_another_name_is_another_run(change: dict[str, object]) -> None:
    rules = [rule for _, rule in said(check(base(), mix(), mix(**change)))]
    assert "repeat_identical" not in rules and "repeat_differs" not in rules


def test_keys_compare_not_spellings() -> None:
    assert said(check(base(), mix(), mix(member="FEN-07", series="bench  A"))) == [(4, "repeat_identical")]


def test_a_blank_grade_at_zero_is_filled_before_repeats_are_told() -> None:
    assert said(check(base(), base(component_grade=None), mix())) == [(3, "repeat_identical")]


def test_a_repeat_left_out_does_not_weigh_in_the_majority() -> None:
    checked = check(base(), base(), mix(setup_type="sieve"))
    assert [row for row, rule in said(checked) if rule == "changes_in_series"] == [2, 4]


def test_a_series_without_baseline_is_accepted_with_one_advice() -> None:
    checked = check(mix(), mix(pot_no=2), mix(component_share=60.0))
    assert said(checked) == [(2, "no_baseline")] and checked.accepted.height == 3


def test_a_baseline_that_is_held_is_named() -> None:
    checked = check(base(collected_ml=400.0), mix())
    assert (3, "no_baseline") in said(checked)
    assert "(row 2 held)" in message(checked, "no_baseline")


def test_a_series_that_is_held_whole_needs_no_advice_on_its_baseline() -> None:
    assert said(check(mix(collected_ml=400.0))) == [(2, "collected_over_poured")]

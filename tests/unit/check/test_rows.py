"""Rules that each row is asked alone, from hand-made converted values."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from tests.unit.check.sheets import TODAY, base, check, message, mix, problems, said


def rules_of(**changes: Any) -> list[str]:
    """Rules that speak of the mix row (row 3) with these changes, beside a right baseline row."""
    return [rule for row, rule in said(check(base(), mix(**changes))) if row == 3]


def test_a_right_sheet_has_nothing_to_tell() -> None:
    checked = check(base(), mix())
    assert said(checked) == []
    assert checked.accepted.height == 2


@pytest.mark.parametrize(("day", "held"), [(TODAY, False), (TODAY + timedelta(days=1), True)])
def test_no_test_is_later_than_today(day: date, held: bool) -> None:
    assert ("tested_in_future" in rules_of(tested_on=day)) is held


def test_collected_is_never_more_than_poured() -> None:
    checked = check(base(), mix(collected_ml=301.0))
    assert said(checked) == [(3, "collected_over_poured")]
    assert "301 ml" in message(checked, "collected_over_poured") and "300 ml" in message(
        checked, "collected_over_poured"
    )
    assert checked.accepted.height == 1


@pytest.mark.parametrize("part", [0.40, 0.5, 0.60])
def test_forty_to_sixty_percent_is_the_headline_part(part: float) -> None:
    rows = (base(collected_ml=300 * part), mix(collected_ml=300 * part))
    checked = check(*rows)
    assert said(checked) == [] and checked.accepted["part_marked"].to_list() == [False, False]


@pytest.mark.parametrize("part", [0.39, 0.61, 1.0])
def test_other_parts_are_accepted_and_marked(part: float) -> None:
    checked = check(base(collected_ml=300 * part), mix(collected_ml=300 * part))
    assert said(checked) == [(2, "part_marked"), (3, "part_marked")]
    assert checked.accepted["part_marked"].to_list() == [True, True]


def test_a_part_just_outside_is_not_rounded_to_the_limit() -> None:
    checked = check(base(), mix(collected_ml=119.0))
    assert "is 39.7 % of what" in checked.problems["message"][0]


@pytest.mark.parametrize("share", [1.0, 33.3, 100.0])
@pytest.mark.parametrize("column", ["component", "component_grade"])
def test_component_and_grade_may_be_blank_at_zero_only(column: str, share: float) -> None:
    checked = check(base(), mix(**{column: None, "component_share": share}))
    assert [rule for _, rule in said(checked)] == [
        {"component": "component_blank", "component_grade": "grade_blank"}[column]
    ]
    assert checked.accepted.height == 1
    assert check(base(**{column: None}), mix()).accepted.height == 2


def test_a_cell_that_intake_could_not_read_is_not_called_blank() -> None:
    assert rules_of(component=None, cells={"component": "gravel"}) == []
    assert rules_of(start_moisture=None, cells={"start_moisture": "damp"}) == []


def test_blank_start_moisture_gets_advice() -> None:
    assert rules_of(start_moisture=None) == ["start_moisture_blank"]


def test_smallest_grains_above_the_largest_are_held() -> None:
    assert rules_of(component_min_size_mm=4.0, component_max_size_mm=2.0) == ["grain_sizes_swapped"]
    assert rules_of(component_min_size_mm=2.0, component_max_size_mm=2.0) == []
    assert rules_of(component_min_size_mm=2.0) == []


def test_other_setup_wants_a_note() -> None:
    rows = (base(setup_type="other"), mix(setup_type="other", notes="on three bricks"))
    assert said(check(*rows)) == [(2, "setup_not_described")]


def test_a_run_that_ran_dry_is_accepted_with_advice() -> None:
    checked = check(base(), mix(ended="ran_dry", came_out_ml=80.0))
    assert said(checked) == [(3, "ran_dry")] and checked.accepted.height == 2
    assert rules_of(ended="ran_dry") == ["ran_dry"]


def test_ran_dry_with_more_out_than_the_mark_is_held() -> None:
    assert "came_out_over_collected" in rules_of(ended="ran_dry", came_out_ml=151.0)
    assert "came_out_over_collected" not in rules_of(ended="ran_dry", came_out_ml=150.0)


def test_came_out_beside_another_ending_is_advice() -> None:
    assert rules_of(came_out_ml=150.0) == ["came_out_not_used"]


def test_every_problem_of_a_row_in_one_pass() -> None:
    assert set(
        rules_of(
            tested_on=date(2027, 1, 1),
            collected_ml=400.0,
            component=None,
            start_moisture=None,
            component_min_size_mm=9.0,
            component_max_size_mm=1.0,
            drain_time_s=700_000.0,
        )
    ) >= {
        "tested_in_future",
        "collected_over_poured",
        "component_blank",
        "start_moisture_blank",
        "grain_sizes_swapped",
        "time_too_long",
    }


def test_a_row_held_as_a_whole_is_not_asked_about_its_cells() -> None:
    """A row shorter or longer than the heading: its cells may stand under the wrong headings."""
    ragged = problems({"file_id": 0, "sheet_row": 3, "rule": "row_too_short", "details": "{}"})
    checked = check(base(), mix(start_moisture=None, collected_ml=400.0), found=ragged)
    assert said(checked) == [(3, "row_too_short")]
    assert checked.held.select("sheet_row", "level").rows() == [(3, "held")]


def test_a_file_held_as_a_whole_is_told_that_alone() -> None:
    whole = problems({"file_id": 0, "rule": "column_missing", "details": "{}"})
    checked = check(base(start_moisture=None), mix(collected_ml=400.0), found=whole)
    assert said(checked) == [(None, "column_missing")]
    assert checked.files.select("rows", "accepted", "held").rows() == [(2, 0, 2)]
    assert checked.held["reasons"].to_list() == [["column_missing"]] * 2

"""What the rows of a series say together: what must not change, what may by advice, what blanks take."""

from __future__ import annotations

from typing import Any

import pytest

from pipeline.check.amounts import series_own
from pipeline.check.series import majority
from tests.unit.check.sheets import base, check, check_many, message, mix, problems, said


def pots(*changes: dict[str, Any]) -> list[dict[str, Any]]:
    """A baseline (row 2) and one pot of the mix per change (rows 3, 4 …)."""
    return [base(), *(mix(pot_no=number, **change) for number, change in enumerate(changes, 1))]


STEADY = [
    ("climate_zone", "Csb", "Cfb"),
    ("setup_type", "sieve", "rack"),
    ("base", "coir", "sphagnum_peat"),
    ("component", "pumice", "perlite"),
    ("component_grade", "coarse", "medium"),
]


@pytest.mark.parametrize(("column", "other", "own"), STEADY)
def test_with_a_majority_those_that_differ_are_held(column: str, other: str, own: str) -> None:
    checked = check(*pots({}, {}, {column: other}))
    assert said(checked) == [(5, "changes_in_series")]
    told = message(checked, "changes_in_series")
    assert f"{column} is {other}" in told and f"rows 2-4 say {own}" in told
    assert "bench A" in checked.problems["fix"][0], "suggests a new series label"
    assert checked.accepted["sheet_row"].to_list() == [2, 3, 4]


@pytest.mark.parametrize(("column", "other", "own"), STEADY)
def test_without_a_majority_all_are_held(column: str, other: str, own: str) -> None:
    checked = check(*pots({}, {column: other}, {column: other}))
    assert [row for row, rule in said(checked) if rule == "changes_in_series"] == [2, 3, 4, 5]
    assert checked.accepted.height == 0


def test_rows_held_for_themselves_do_not_count_in_the_majority() -> None:
    wrong = [mix(pot_no=number, setup_type="sieve", collected_ml=400.0) for number in range(7, 12)]
    checked = check(*pots({}, {}), *wrong)
    assert checked.accepted.height == 3
    assert "changes_in_series" not in [rule for _, rule in said(checked)]


def test_rows_that_intake_held_do_not_count_either() -> None:
    rows = pots({}, {"setup_type": "sieve"}, {"setup_type": "sieve"})
    checked = check(
        *rows,
        found=problems(
            {"file_id": 0, "sheet_row": 4, "column": "notes", "rule": "collected_over_poured"},
            {"file_id": 0, "sheet_row": 5, "column": "notes", "rule": "collected_over_poured"},
        ),
    )
    assert checked.accepted["sheet_row"].to_list() == [2, 3]


def test_unknown_climate_takes_the_class_and_is_told() -> None:
    checked = check(base(climate_zone="unknown"), mix(), mix(pot_no=2))
    assert checked.accepted["climate_zone"].to_list() == ["Cfb"] * 3
    assert said(checked) == [(2, "zone_from_series")]
    assert "“unknown” was read as Cfb" in message(checked, "zone_from_series")


def test_the_advice_that_the_zone_is_not_known_is_taken_back() -> None:
    unknown = {"file_id": 0, "sheet_row": 2, "column": "climate_zone", "rule": "ran_dry"}
    checked = check(base(climate_zone="unknown"), mix(), found=problems(unknown))
    assert said(checked) == [(2, "zone_from_series")]
    checked = check(base(climate_zone="unknown"), mix(climate_zone="unknown"), found=problems(unknown))
    assert said(checked) == [(2, "ran_dry")]


def test_all_unknown_stays_unknown() -> None:
    checked = check(base(climate_zone="unknown"), mix(climate_zone="unknown"))
    assert said(checked) == [] and checked.accepted["climate_zone"].to_list() == ["unknown"] * 2


def test_unknown_beside_two_classes_is_held_with_them() -> None:
    checked = check(base(climate_zone="unknown"), mix(), mix(pot_no=2, climate_zone="Csb"))
    assert checked.accepted.height == 0


def test_blank_component_and_grade_at_zero_take_the_series_own() -> None:
    checked = check(base(component=None, component_grade=None), mix())
    assert said(checked) == []
    assert checked.accepted.select("component", "component_grade").rows() == [("perlite", "medium")] * 2


def test_a_series_of_baselines_only_has_no_component() -> None:
    checked = check(base(component=None, component_grade=None), base(pot_no=2, component=None))
    assert checked.accepted["component"].to_list() == [None, None]


def test_first_spelling_is_kept_and_keys_compare() -> None:
    checked = check(base(), mix(member="FEN-07", series="BENCH  a"))
    assert said(checked) == []
    assert checked.accepted.select("member", "series").unique().rows() == [("fen-07", "bench A")]


def test_another_member_or_series_is_another_matter() -> None:
    checked = check(
        *pots({}),
        base(member="fen-08", setup_type="sieve"),
        mix(member="fen-08", setup_type="sieve"),
        base(series="B", setup_type="strainer"),
        mix(series="B", setup_type="strainer"),
    )
    assert said(checked) == [] and checked.accepted.height == 6


def test_each_file_is_checked_alone() -> None:
    one, other = [base(), mix()], [base(setup_type="sieve"), mix(setup_type="sieve")]
    checked = check_many(one, other)
    assert said(checked) == [] and checked.files["accepted"].to_list() == [2, 2]


# pot volume ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("volume_ml", "rules"),
    [
        (1100.0, []),
        (900.0, []),
        (1101.0, [(5, "pot_volume_varies")]),
        (899.0, [(5, "pot_volume_varies")]),
        (1250.0, [(5, "pot_volume_varies")]),
        (1251.0, [(5, "pot_volume_changes")]),
        (749.0, [(5, "pot_volume_changes")]),
    ],
)
def test_pot_volume_within_ten_percent_then_advice_then_held(
    volume_ml: float, rules: list[tuple[int, str]]
) -> None:
    checked = check(*pots({}, {}, {"pot_volume_ml": volume_ml}))
    assert said(checked) == rules
    assert checked.accepted.height == (3 if rules and rules[0][1] == "pot_volume_changes" else 4)


def test_two_pots_without_a_majority_are_all_held() -> None:
    checked = check(*pots({}, {"pot_volume_ml": 2000.0}, {"pot_volume_ml": 2000.0}))
    assert checked.accepted.height == 0
    assert "2000 ml" in message(checked, "pot_volume_changes", 2)
    assert "1000 ml" in message(checked, "pot_volume_changes", 5)


def test_series_own_is_what_most_lie_near_then_the_baselines() -> None:
    assert series_own([1.0, 1.05, 2.0, 1.02], [False] * 4, 0.10) == 1.0
    assert series_own([300.0, 340.0], [False, True], 0.05) == 340.0
    assert series_own([300.0, 340.0], [False, False], 0.05) == 300.0
    assert series_own([1.0, 1.15, 1.3], [False] * 3, 0.10, 0.25) == 1.15


def test_majority() -> None:
    assert majority(["a", "a", "b"]) == "a"
    assert majority(["a", "b"]) is None
    assert majority(["a", None, None]) == "a"
    assert majority([None]) is None


# pours -----------------------------------------------------------------------------------------------


def test_unlike_pours_are_marked() -> None:
    checked = check(*pots({}, {}, {"poured_ml": 320.0}))
    assert said(checked) == [(5, "unlike_pour")]
    assert checked.accepted["unlike_pour"].to_list() == [False, False, False, True]
    assert said(check(*pots({}, {}, {"poured_ml": 315.0, "collected_ml": 157.5}))) == []


def test_of_two_pours_the_baselines_is_the_series_own() -> None:
    checked = check(base(), mix(poured_ml=400.0, collected_ml=200.0))
    assert checked.accepted["unlike_pour"].to_list() == [False, True]
    checked = check(mix(poured_ml=400.0, collected_ml=200.0), base())
    assert checked.accepted["unlike_pour"].to_list() == [True, False]


# advice only -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("column", "own", "other"),
    [
        ("hole_cover", "none", "mesh"),
        ("peat_type", "fine", "block"),
        ("peat_lot", "p1", "p2"),
        ("component_lot", "c1", "c2"),
        ("start_moisture", "moist", "dry"),
        ("pre_wetted", "yes", "no"),
        ("sieved", "yes", "no"),
    ],
)
def test_other_words_may_vary_with_advice(column: str, own: str, other: str) -> None:
    rows = pots({column: own}, {column: own}, {column: other})
    rows[0][column] = own
    checked = check(*rows)
    assert said(checked) == [(5, "varies_in_series")] and checked.accepted.height == 4
    assert f"rows 2-4 say {own}" in message(checked, "varies_in_series")


def test_a_blank_is_no_change_and_a_lot_has_no_case() -> None:
    assert said(check(*pots({"peat_lot": "p1"}, {}, {"peat_lot": "P1"}))) == []


def test_a_settled_pot_may_be_wetter_than_a_fresh_one() -> None:
    rows = [base(), base(pour_no=2, start_moisture="soaked"), mix(), mix(pour_no=2, start_moisture="soaked")]
    assert said(check(*rows)) == []

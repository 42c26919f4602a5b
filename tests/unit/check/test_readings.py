"""How cells were read is told back, and typed back it gives the same."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pipeline.check.readings import MOST_FORMS, readings_in_sentences
from pipeline.intake.cells.readings import Setting
from pipeline.intake.cells.shares import read_share
from pipeline.intake.cells.times import read_age, read_clock_time
from pipeline.intake.cells.volumes import read_volume
from schemas.trade.amounts import amount_in_words
from tests.story.sheets import BASELINE, PLAIN, check_rows


def forms(column: str, *rows: dict[str, str]) -> list[tuple[str, str, int]]:
    got = check_rows(*rows)
    assert got.problems("held") == []
    return [
        (form["typed"], form["read"], form["rows"])
        for one in got.file["readings"]
        if one["column"] == column
        for form in one["forms"]
    ]


def read_back(column: str, typed: str) -> tuple[Any, Any, str]:
    """The value of a cell, the value of its echoed reading, and that reading."""
    kept = {"drain_time": "drain_time_s", "came_out": "came_out_ml", "mix_age": "mix_age_days"}.get(
        column, column
    )
    rows = [BASELINE, {**PLAIN, column: typed}]
    (read,) = [read for form, read, _ in forms(column, *rows) if form == typed]
    first, second = (
        check_rows(BASELINE, {**PLAIN, column: text}).accepted.row(1, named=True)[kept]
        for text in (typed, read)
    )
    return first, second, read


@pytest.mark.parametrize(
    ("column", "typed", "read"),
    [
        ("drain_time", "205 s", "3 min 25 s"),
        ("drain_time", "3 h 25 min", "3 h 25 min"),
        ("drain_time", "0:03:25.5", "3 min 25.5 s"),
        ("came_out", "1 cup", "236.5882365 ml"),
        ("came_out", "1,5 l", "1.5 l"),
        ("came_out", "1234 ml", "1.2340 l"),
        ("component_share", "33.333", "33.3 %"),
        ("mix_age", "2 months", "60 days"),
        ("mix_age", "36 h", "36 h"),
    ],
)
def test_in_a_persons_units(column: str, typed: str, read: str) -> None:
    first, second, echoed = read_back(column, typed)
    assert echoed == read and first == second


UNITS = ("ml", "l", "cup", "imp fl oz", "tbsp", "cubic inch")


@settings(deadline=None)
@given(st.integers(1, 9_999_999), st.sampled_from([0, 1, 2, 4]), st.sampled_from(UNITS))
def test_a_volume_typed_back_is_the_same(number: int, places: int, unit: str) -> None:
    typed = f"{number / 10**places:.{places}f} {unit}"
    volume = read_volume(typed, Setting("came_out")).value
    assert isinstance(volume, float)
    assert read_volume(amount_in_words(volume, "ml"), Setting("came_out")).value == volume


@settings(deadline=None)
@given(
    st.fractions("1/10", 10**6, max_denominator=1000),
    st.sampled_from([("s", 1), ("h", 3600), ("days", 86400)]),
)
def test_a_time_typed_back_is_the_same(seconds: Fraction, kept: tuple[str, int]) -> None:
    unit, unit_s = kept
    value = float(seconds / unit_s)
    assume(value > 0.001)
    setting = Setting("drain_time" if unit == "s" else "mix_age", kept_per=unit_s)
    read = read_clock_time if unit == "s" else read_age
    assert read(amount_in_words(value, unit), setting).value == value


@settings(deadline=None)
@given(st.integers(10, 1000))
def test_a_share_typed_back_is_the_same(tenths: int) -> None:
    share = tenths / 10
    assert read_share(amount_in_words(share, "percent by volume"), Setting("component_share")).value == share


def test_extremes_come_first_then_rare_forms_and_the_rest_is_counted() -> None:
    times = ["3:25", "3:26", "9:59", "3:00", "205 s", *(f"3:{second}" for second in range(30, 50))]
    rows = [BASELINE, *({**PLAIN, "pot_no": str(at), "drain_time": time} for at, time in enumerate(times, 1))]
    given = forms("drain_time", *rows)
    assert [typed for typed, _, _ in given[:3]] == ["3:00", "9:59", "205 s"] and len(given) == MOST_FORMS
    (column,) = [one for one in check_rows(*rows).file["readings"] if one["column"] == "drain_time"]
    assert column["more_forms"] == len(times) + 1 - MOST_FORMS == column["more_rows"]


def test_cells_that_say_what_was_read_are_not_repeated_in_the_text() -> None:
    columns = check_rows(BASELINE, PLAIN).file["readings"]
    assert set(readings_in_sentences(columns)) == {"component_share", "drain_time"}
    assert readings_in_sentences(columns)["drain_time"] == "3:25 = 3 min 25 s; 5:10 = 5 min 10 s"

"""Whole numbers and days, written in every form: read back the same, or held; never a guess."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.cells.counts import LARGEST, MAY_BE_ZERO, read_count
from pipeline.intake.cells.dates import (
    BOTH_ORDERS,
    DAY_FIRST,
    MONTH_FIRST,
    OPEN_ORDER,
    read_date,
    slashed_order,
)
from pipeline.intake.cells.readings import Setting
from schemas.kinds.run import RUN

POT = Setting("pot_no")


@given(st.integers(1, LARGEST), st.sampled_from(["", ".0", ",0", ".00", ",0000"]))
def test_a_whole_number_with_or_without_its_zero_decimals(number: int, zeros: str) -> None:
    reading = read_count(f"{number}{zeros}", POT)
    assert (reading.value, reading.rule) == (number, None)
    assert type(reading.value) is int


@given(st.integers(0, 10**6), st.integers(1, 9))
def test_a_part_of_one_is_no_count(whole: int, tenth: int) -> None:
    assert read_count(f"{whole}.{tenth}", POT).rule == "whole_number"


@pytest.mark.parametrize("column", [column.name for column in RUN.columns if column.kind == "count"])
def test_none_is_an_answer_only_where_it_may_be(column: str) -> None:
    reading = read_count("0", Setting(column))
    assert (reading.value == 0) == (column in MAY_BE_ZERO)
    assert reading.rule == (None if column in MAY_BE_ZERO else "whole_number")


@pytest.mark.parametrize(
    "typed", [str(LARGEST + 1), "-1", "1e3", "1 2", "one", "1/2", "½", "٣", "1.", "+1", "1,2,3"]
)
def test_what_is_no_count_is_held(typed: str) -> None:
    assert read_count(typed, POT).value is None


def test_thousands_are_read_where_the_file_settles_the_mark() -> None:
    assert read_count("1.000", Setting("pot_no", decimal_mark=",")).value == 1000
    assert read_count("1.000", Setting("pot_no", decimal_mark=".")).value == 1
    assert read_count("1.000", POT).rule == "decimal_mark_open"


DAYS = st.dates(date(1980, 1, 1), date(2099, 12, 31))
TIMES = st.sampled_from(["", " 00:00:00", "T00:00:00", " 0:00", " 00:00:00.000"])


@given(DAYS, TIMES)
def test_a_day_and_midnight_behind_it(day: date, time: str) -> None:
    for typed in (
        f"{day:%Y-%m-%d}",
        f"{day.year}-{day.month}-{day.day}",
        f"{day.day}.{day.month}.{day.year}",
        f"{day:%d. %m. %Y}",
    ):
        assert read_date(typed + time, Setting("tested_on")).value == day


@given(DAYS, st.sampled_from([OPEN_ORDER, BOTH_ORDERS, DAY_FIRST, MONTH_FIRST]))
def test_a_slashed_date_is_one_of_its_two_readings_and_only_by_an_order(day: date, order: str) -> None:
    typed = f"{day.day}/{day.month}/{day.year}"
    reading = read_date(typed, Setting("tested_on", date_order=order))
    if order == DAY_FIRST:
        assert reading.value == day
    elif order == MONTH_FIRST:
        assert (reading.value is None) == (day.day > 12)
        assert day.day > 12 or reading.value == date(day.year, day.day, day.month)
    else:
        assert reading.value is None and str(day) in reading.details["readings"]


@given(DAYS)
def test_the_order_that_one_date_settles_is_true_of_it(day: date) -> None:
    for order, typed in (
        (DAY_FIRST, f"{day.day}/{day.month}/{day.year}"),
        (MONTH_FIRST, f"{day.month}/{day.day}/{day.year}"),
    ):
        settled = slashed_order(typed)
        assert settled in ("", order)
        assert (settled == "") == (day.day <= 12)


@pytest.mark.parametrize("typed", ["1979-12-31", "31.12.1979"])
def test_before_1980_nothing_was_tested(typed: str) -> None:
    assert read_date(typed, Setting("tested_on")).value is None


@pytest.mark.parametrize(
    "typed",
    [
        "2026-02-29",
        "31.4.2026",
        "2026-13-01",
        "0.1.2026",
        "2026-00-10",
        "2026-3-1 12:30",
        "20260314",
        "14-3-2026",
        "3.2026",
    ],
)
def test_what_is_no_day_is_held(typed: str) -> None:
    assert read_date(typed, Setting("tested_on")).value is None


@given(st.integers(1, 31), st.integers(1, 12), st.integers(0, 99), st.sampled_from("./-"))
def test_a_short_year_is_held_and_offered_with_four_digits(
    day: int, month: int, year: int, mark: str
) -> None:
    reading = read_date(f"{day}{mark}{month}{mark}{year:02d}", Setting("tested_on"))
    assert (reading.value, reading.rule) == (None, "date_form")
    century = 1900 if year >= 80 else 2000
    assert f"{day}{mark}{month}{mark}{century + year}" in reading.details["hint"]

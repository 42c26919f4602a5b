"""Times: clock forms and times with units."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.cells.readings import Reading, Setting
from pipeline.intake.cells.times import read_age, read_clock_time, read_span
from pipeline.intake.characters import fold
from schemas.units import find_unit_in_heading

DRAIN = Setting("drain_time")
SECONDS = Setting("drain_time", find_unit_in_heading("s", "time"))
MINUTES = Setting("drain_time", find_unit_in_heading("min", "time"))
HOURS_OF_REST = Setting("rest_before", kept_per=3600)
DAYS_OF_AGE = Setting("mix_age", kept_per=86400)


@pytest.mark.parametrize(
    ("cell", "seconds"),
    [
        ("3:25", 205.0),
        ("03:25", 205.0),
        ("0:05", 5.0),
        ("75:00", 4500.0),
        ("3:25.5", 205.5),
        ("3:25,5", 205.5),
        ("3:25.250", 205.25),
        ("0:03:25", 205.0),
        ("1:05:10", 3910.0),
        ("26:00:01", 93601.0),
        ("0:03:25.5", 205.5),
        ("205 s", 205.0),
        ("205s", 205.0),
        ("205 sec.", 205.0),
        ("205,5 s", 205.5),
        ("3.5 min", 210.0),
        ("3,5 Min.", 210.0),
        ("3 m", 180.0),
        ("1 h", 3600.0),
        ("1.5 hours", 5400.0),
        ("1 h 5 min", 3900.0),
        ("1h5m", 3900.0),
        ("1 h 5 min 10 s", 3910.0),
        ("1 hr, 5 mins", 3900.0),
        ("3m25s", 205.0),
        ("3 min 25 s", 205.0),
        ("3 minutes 25.5 seconds", 205.5),
        ("75 min 30 s", 4530.0),
        ("3'25\"", 205.0),
        ("3′25″", 205.0),
        ("3’ 25”", 205.0),
        ("3'25''", 205.0),
        ("3'5\"", 185.0),
        ("3∶25", 205.0),
        ("３：２５", 205.0),
    ],
)
def test_drain_times(cell: str, seconds: float) -> None:
    found = read_clock_time(fold(cell), DRAIN)
    assert (found.value, found.rule) == (seconds, None)


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("205", "time_unit_missing"),
        ("3", "time_unit_missing"),
        ("1.30", "time_with_point"),
        ("1,30", "time_with_point"),
        ("1.3", "time_with_point"),
        ("1.75", "time_unit_missing"),
        ("3:75", "time_fields"),
        ("3:60", "time_fields"),
        ("3:5", "time_fields"),
        ("3:", "time_fields"),
        (":25", "time_fields"),
        ("1:75:00", "time_fields"),
        ("1:05:60", "time_fields"),
        ("1:5:00", "time_fields"),
        ("1:2:3:4", "time_fields"),
        ("-3:25", "time_fields"),
        ("3:25 min", "time_fields"),
        ("3:25 pm", "time_of_day"),
        ("3:25:00 AM", "time_of_day"),
        ("3½ min", "fraction_not_read"),
        ("3/4 min", "fraction_not_read"),
        ("3:25:00", "time_from_spreadsheet"),
        ("3:25:00.0", "time_from_spreadsheet"),
        ("0:03:00", "time_from_spreadsheet"),
        ("75:00:00", "time_from_spreadsheet"),
        ("3'75\"", "time_fields"),
        ("0:00", "not_above_zero"),
        ("0:00:00", "not_above_zero"),
        ("0 s", "not_above_zero"),
        ("-5 s", "not_above_zero"),
        ("8 days", "unit_unknown"),
        ("300 ml", "unit_unknown"),
        ("5 h 3", "unit_unknown"),
        ("5 min 75 s", "number_form"),
        ("1 h 75 min", "number_form"),
        ("5 s 3 min", "number_form"),
        ("3 min 3 min", "number_form"),
        ("1.5 h 5 min", "number_form"),
        ("fast", "number_form"),
        ("about 3 min", "number_form"),
        ("1e2 s", "unit_unknown"),
        ("inf s", "number_form"),
        ("1.234 s", "decimal_mark_open"),
    ],
)
def test_drain_times_held(cell: str, rule: str) -> None:
    found = read_clock_time(fold(cell), DRAIN)
    assert (found.value, found.rule) == (None, rule)


def test_a_point_for_a_colon_is_offered_both_ways() -> None:
    details = read_clock_time("1.30", DRAIN).details
    assert details == {"clock": "1:30", "minutes": "1.30"}
    assert read_clock_time("1.3", DRAIN).details["clock"] == "1:03 or 1:30"


@pytest.mark.parametrize(
    ("cell", "offer", "literal"),
    [
        ("3:25:00", "3 min 25 s", "3 h 25 min"),
        ("03:25:00.0", "3 min 25 s", "3 h 25 min"),
        ("0:03:00", "3 s", "3 min"),
        ("75:00:00", "1 h 15 min", "75 h"),
    ],
)
def test_a_time_that_a_spreadsheet_changed_is_offered_both_ways(cell: str, offer: str, literal: str) -> None:
    found = read_clock_time(cell, DRAIN)
    assert found.details == {"offer": offer, "literal": literal}
    assert all(read_clock_time(text, DRAIN).value for text in (offer, literal)), "what is offered is read"


@pytest.mark.parametrize(
    ("cell", "offer"),
    [
        ("3:25 AM", "3 min 25 s"),
        ("3:25:00 a.m.", "3 min 25 s"),
        ("3:25 PM", "15 min 25 s"),
        ("12:25 AM", "25 s"),
        ("12:03:25 AM", "3 min 25 s"),
    ],
)
def test_a_time_of_day_is_offered_as_it_was_typed(cell: str, offer: str) -> None:
    assert read_clock_time(cell, DRAIN) == Reading(None, "time_of_day", {"offer": offer})


def test_clock_forms_are_read_whatever_the_heading_says() -> None:
    for setting in (SECONDS, MINUTES):
        assert [read_clock_time(cell, setting).value for cell in ("3:25", "0:03:25", "3'25\"")] == [205.0] * 3


def test_bare_numbers_take_the_unit_of_the_heading() -> None:
    assert read_clock_time("205", SECONDS).value == 205.0
    assert read_clock_time("1.30", MINUTES).value == 78.0
    assert read_clock_time("3.5 min", SECONDS).rule == "unit_clash"
    assert read_clock_time("3m25s", SECONDS).rule == "unit_clash"
    assert read_clock_time("205 sec", SECONDS).value == 205.0


@pytest.mark.parametrize(
    ("cell", "hours"),
    [("2 days", 48.0), ("1 week", 168.0), ("90 min", 1.5), ("1 d 12 h", 36.0)],
)
def test_rest_in_hours(cell: str, hours: float) -> None:
    assert read_span(cell, HOURS_OF_REST).value == hours


@pytest.mark.parametrize(
    ("cell", "days"),
    [("3 weeks", 21.0), ("2 months", 60.0), ("1 year", 365.0), ("1 y 2 mo", 425.0), ("36 h", 1.5)],
)
def test_age_in_days(cell: str, days: float) -> None:
    assert read_age(cell, DAYS_OF_AGE).value == days


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("60", "unit_missing"),
        ("2 m", "unit_ambiguous"),
        ("24:00", "unit_unknown"),
        ("0 days", "not_above_zero"),
    ],
)
def test_long_times_held(cell: str, rule: str) -> None:
    assert read_age(cell, DAYS_OF_AGE).rule == rule


@given(st.integers(1, 10**6))
def test_a_time_is_the_same_in_every_form(seconds: int) -> None:
    minutes, rest = divmod(seconds, 60)
    hours, part = divmod(minutes, 60)
    if minutes < 100_000:
        assert read_clock_time(f"{minutes}:{rest:02d}", DRAIN).value == seconds
    if rest:
        assert read_clock_time(f"{hours}:{part:02d}:{rest:02d}", DRAIN).value == seconds
    assert read_clock_time(f"{seconds} s", DRAIN).value == seconds
    assert read_clock_time(f"{minutes} min {rest} s", DRAIN).value == seconds


@given(st.text(alphabet="0123456789:.,'\" hmsin-", max_size=14))
def test_whatever_is_typed_gives_a_time_above_zero_or_a_rule(cell: str) -> None:
    found = read_clock_time(fold(cell), DRAIN)
    assert (found.value is None) == (found.rule is not None)
    assert found.value is None or (isinstance(found.value, float) and 0 < found.value < 1e20)

"""Dates and volumes that are written out in every form that we read come back as what they were."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.cells.dates import DAY_FIRST, MONTH_FIRST, read_date, slashed_order
from pipeline.intake.cells.readings import Setting
from pipeline.intake.cells.volumes import read_volume
from pipeline.intake.characters import fold
from schemas.units import UNITS, Unit

TESTED = Setting("tested_on")
POURED = Setting("poured")
DATES = st.dates(date(1980, 1, 1), date(2100, 12, 31))
VOLUME_UNITS = [unit for unit in UNITS if unit.kind == "volume"]


@given(DATES)
def test_a_date_is_the_same_in_every_form(day: date) -> None:
    for cell in (f"{day}", f"{day.year}-{day.month}-{day.day}", f"{day:%d.%m.%Y}", f"{day} 00:00:00"):
        assert read_date(fold(cell), TESTED).value == day


@given(DATES)
def test_a_slashed_date_is_read_by_the_order_of_its_file_and_never_guessed(day: date) -> None:
    cells = {DAY_FIRST: f"{day.day}/{day.month}/{day.year}", MONTH_FIRST: f"{day.month}/{day.day}/{day.year}"}
    for order, cell in cells.items():
        assert read_date(cell, Setting("tested_on", date_order=order)).value == day
        assert slashed_order(cell) == (order if day.day > 12 else "")
        assert read_date(cell, TESTED).value is None


@given(st.text(alphabet="0123456789-./ :T", max_size=20))
def test_whatever_is_typed_gives_a_date_or_a_rule(cell: str) -> None:
    reading = read_date(fold(cell), TESTED)
    assert (reading.value is None) == (reading.rule is not None)


@given(st.sampled_from(VOLUME_UNITS), st.data(), st.integers(1, 99_999))
def test_a_volume_is_exact_in_every_unit_and_spelling(unit: Unit, data: st.DataObject, tenths: int) -> None:
    spelling = data.draw(st.sampled_from(unit.spellings))
    whole, tenth = divmod(tenths, 10)
    for mark in ".,":
        cell = f"{whole}{mark}{tenth} {spelling}"
        assert read_volume(fold(cell), POURED).value == float(Fraction(tenths, 10) * unit.factor)


@given(st.text(alphabet="0123456789.,/½-+ mlLcupgaloz", max_size=14))
def test_whatever_is_typed_gives_a_volume_above_zero_or_a_rule(cell: str) -> None:
    reading = read_volume(fold(cell), POURED)
    assert (reading.value is None) == (reading.rule is not None)
    assert reading.value is None or (isinstance(reading.value, float) and reading.value > 0)

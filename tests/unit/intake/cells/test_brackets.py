"""What a heading's bracket says: every unit of the column, orders of parts and dates, forms of time; else it is held."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.cells.brackets import (
    BASE_FIRST,
    COMPONENT_FIRST,
    HOURS_AND_MINUTES,
    OTHER_CLOCK,
    Said,
    form_in_heading,
    read_bracket,
    unit_in_heading,
)
from pipeline.intake.cells.dates import DAY_FIRST, MONTH_FIRST
from schemas.column import Column
from schemas.kinds.run import RUN
from schemas.units import READ_IN, UNITS, Unit
from schemas.vocabulary import CHOICES

COLUMNS = {column.name: column for column in RUN.columns}
WITH_UNITS = [column for column in RUN.columns if column.unit_kind is not None]


@pytest.mark.parametrize("column", WITH_UNITS, ids=lambda column: column.name)
def test_every_spelling_of_every_unit_is_read_in_a_bracket(column: Column) -> None:
    for unit in UNITS:
        if column.unit_kind in READ_IN.get(unit.kind, (unit.kind,)):
            for spelling in unit.spellings:
                said = read_bracket(f" {spelling.casefold()}. ", column)
                assert said.unread == "" and said.form == "", spelling
                assert said.unit is not None and (
                    not isinstance(said.unit, Unit) or said.unit.same_size(unit)
                ), spelling


@pytest.mark.parametrize("column", RUN.columns, ids=lambda column: column.name)
@pytest.mark.parametrize("remark", ["", "optional", "if known", " required. ", "by  volume"])
def test_remarks_change_nothing(column: Column, remark: str) -> None:
    assert read_bracket(remark, column) == Said()


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("hh:mm", HOURS_AND_MINUTES),
        ("h:mm", HOURS_AND_MINUTES),
        ("hours and minutes", HOURS_AND_MINUTES),
        ("hh mm", HOURS_AND_MINUTES),
        ("mm:ss", OTHER_CLOCK),
        ("m:ss", OTHER_CLOCK),
        ("mm:ss.0", OTHER_CLOCK),
        ("hh:mm:ss", OTHER_CLOCK),
        ("minutes and seconds", OTHER_CLOCK),
        ("ss:mm", ""),
        ("mm", ""),
        ("hh:mm:ss am", ""),
    ],
)
def test_forms_of_time_are_read_where_a_clock_is_read(text: str, form: str) -> None:
    assert form_in_heading(text, COLUMNS["drain_time"]) == form
    assert form_in_heading(text, COLUMNS["rest_before"]) == ""


BASES = ["base", "peat", "sphagnum peat", "coir", "torf"]
MINERALS = ["component", "mineral", "perlite", "pumice", "silica sand", "sand"]
DIVIDERS = st.sampled_from([":", "+", "/", " to ", " and ", " : ", ", "])


@given(st.sampled_from(BASES), DIVIDERS, st.sampled_from(MINERALS))
def test_the_order_of_parts_is_the_order_of_the_words(base: str, divider: str, mineral: str) -> None:
    parts = COLUMNS["parts"]
    assert read_bracket(f"{base}{divider}{mineral}", parts) == Said(form=BASE_FIRST)
    assert read_bracket(f"{mineral}{divider}{base}", parts) == Said(form=COMPONENT_FIRST)


@pytest.mark.parametrize(
    "text",
    ["peat:coir", "perlite:pumice", "peat", "1:3", "peat:perlite:sand", "other:other", "perlite first"],
)
def test_an_order_that_is_none_holds_the_column(text: str) -> None:
    assert read_bracket(text, COLUMNS["parts"]).unread == text


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("dd/mm/yyyy", DAY_FIRST),
        ("tt.mm.jjjj", DAY_FIRST),
        ("jj/mm/aaaa", DAY_FIRST),
        ("d-m-yyyy", DAY_FIRST),
        ("mm/dd/yyyy", MONTH_FIRST),
        ("m/d/yy", MONTH_FIRST),
        ("yyyy-mm-dd", "year first"),
        ("yyyy/dd/mm", ""),
        ("mm/yyyy", ""),
        ("dd/dd/yyyy", ""),
    ],
)
def test_orders_of_dates(text: str, form: str) -> None:
    said = read_bracket(text, COLUMNS["tested_on"])
    assert said == (Said(form=form) if form else Said(unread=text))


@pytest.mark.parametrize(
    ("column", "text"),
    [
        ("component_share", "% by weight"),
        ("component_share", "fraction"),
        ("component_share", "peat %"),
        ("drain_time", "ml"),
        ("drain_time", "days"),
        ("poured", "min"),
        ("fill_depth", "litres"),
        ("water_temp", "k"),
        ("pot_no", "pieces"),
        ("tested_on", "utc"),
    ],
)
def test_what_is_not_understood_holds_the_column(column: str, text: str) -> None:
    assert read_bracket(text, COLUMNS[column]) == Said(unread=text)


@pytest.mark.parametrize("column", ["member", "series", "notes", "climate_zone", "base", "component"])
def test_words_and_codes_take_any_bracket(column: str) -> None:
    assert read_bracket("as you like (or not)", COLUMNS[column]) == Said()


@given(st.text(max_size=12))
def test_any_bracket_says_one_thing_at_most(text: str) -> None:
    for column in RUN.columns:
        said = read_bracket(text, column)
        assert sum(bool(part) for part in (said.unit, said.form, said.unread)) <= 1


def test_no_unit_is_read_from_nothing() -> None:
    assert all(unit_in_heading("  ", column) is None for column in RUN.columns)


def test_the_sides_of_a_ratio_are_words_of_the_vocabularies() -> None:
    named = {choice.value for choice in (*CHOICES["base"], *CHOICES["component"])} - {"other"}
    for word in named:
        orders = {read_bracket(f"{word}:{other}", COLUMNS["parts"]).form for other in ("base", "component")}
        assert orders & {BASE_FIRST, COMPONENT_FIRST}, word

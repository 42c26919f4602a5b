"""Units: every spelling finds its unit, nothing ambiguous is read, factors are exact."""

from __future__ import annotations

from fractions import Fraction

import pytest

from schemas.units import (
    AMBIGUOUS,
    BASE_UNITS,
    READ_IN,
    UNITS,
    AmbiguousUnit,
    Unit,
    UnitKind,
    find_unit,
    find_unit_in_heading,
    unit_key,
    units_read,
)


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: f"{unit.kind}-{unit.name}")
def test_every_spelling_finds_its_unit_in_any_case_and_with_dots(unit: Unit) -> None:
    for spelling in unit.spellings:
        for typed in (spelling, spelling.upper(), spelling.title(), f" {spelling} ", f"{spelling}."):
            assert find_unit(typed, unit.kind) == unit, typed


def test_no_spelling_of_a_kind_stands_for_two_units() -> None:
    seen: dict[tuple[str, str], str] = {}
    for unit in UNITS:
        for spelling in unit.spellings:
            key = (unit.kind, unit_key(spelling))
            assert seen.setdefault(key, unit.name) == unit.name, spelling


@pytest.mark.parametrize(
    ("typed", "kind", "name"),
    [
        ("Fl. Oz.", "volume", "fl oz"),
        ("FL-OZ", "volume", "fl oz"),
        ("imp. fl. oz.", "volume", "imp fl oz"),
        ("UK pints", "volume", "imp pint"),
        ("U.S. gallons", "volume", "US gal"),
        ("cm³", "volume", "cm3"),
        ("cm^3", "volume", "cm3"),
        ("CC", "volume", "cc"),
        ("c.c.", "volume", "cc"),
        ("Litres", "volume", "l"),
        ("in³", "volume", "cubic inch"),
        ("mins.", "time", "min"),
        ("Hrs", "time", "h"),
        ("″", "length", "in"),
        ("''", "length", "in"),
        ("ins", "length", "in"),
        ("º C", "temperature", "°C"),
        ("degrees Fahrenheit", "temperature", "°F"),
    ],
)
def test_spellings_as_people_type_them(typed: str, kind: UnitKind, name: str) -> None:
    found = find_unit(typed, kind)
    assert isinstance(found, Unit) and found.name == name


@pytest.mark.parametrize(
    ("typed", "kind"),
    [
        ("oz", "volume"),
        ("OZ.", "volume"),
        ("c", "volume"),
        ("C", "volume"),
        ("T", "volume"),
        ("t", "volume"),
        ("°", "temperature"),
        ("degrees", "temperature"),
    ],
)
def test_what_could_be_two_things_is_ambiguous(typed: str, kind: UnitKind) -> None:
    found = find_unit(typed, kind)
    assert isinstance(found, AmbiguousUnit) and len(found.choices) >= 2
    for choice in found.choices:
        assert isinstance(find_unit(choice, kind), Unit), "each choice can be typed and is read"


def test_m_is_minutes_in_a_time_metres_in_a_length_and_open_in_the_age_of_a_mix() -> None:
    minutes, metres = find_unit("m", "time"), find_unit("m", "length")
    assert isinstance(minutes, Unit) and minutes.name == "min" and find_unit("m", "span") == minutes
    assert isinstance(metres, Unit) and metres.to_base(Fraction(1)) == 1000
    assert isinstance(find_unit("m", "age"), AmbiguousUnit)


@pytest.mark.parametrize("typed", ["day", "weeks", "months", "years"])
def test_long_times_are_read_in_their_columns_only(typed: str) -> None:
    assert find_unit(typed, "time") is None
    assert all(isinstance(find_unit(typed, kind), Unit) for kind in READ_IN["span"])


@pytest.mark.parametrize("typed", ["", "bushel", "imp quart", "imp cup", "g", "kg", "s", "cm", "m l", "µl"])
def test_anything_else_is_no_unit_of_volume(typed: str) -> None:
    assert find_unit(typed, "volume") is None


def test_headings_may_leave_the_space_out() -> None:
    found = find_unit_in_heading("impfloz", "volume")
    assert isinstance(found, Unit) and found.name == "imp fl oz"


def test_bare_kitchen_units_are_those_of_the_contract() -> None:
    bare = {unit.name for unit in UNITS if unit.bare_kitchen}
    assert bare == {"cup", "fl oz", "pint", "quart", "gal", "tbsp", "tsp"}
    for name in bare:
        us = next(unit for unit in UNITS if unit.name == f"US {name}")
        plain = next(unit for unit in UNITS if unit.name == name)
        assert us.same_size(plain) and not us.bare_kitchen


def test_same_size_knows_cc_from_cl() -> None:
    named = {unit.name: unit for unit in UNITS}
    assert named["cc"].same_size(named["ml"]) and named["cm3"].same_size(named["ml"])
    assert not named["cl"].same_size(named["ml"])
    assert not named["mm"].same_size(named["ml"])


def test_every_unit_says_what_fixes_it() -> None:
    assert all(unit.fixed_by and unit.kind in BASE_UNITS for unit in UNITS)
    assert all(len(unit.choices) >= 2 for unit in AMBIGUOUS)


def test_units_for_messages() -> None:
    assert "days" not in units_read("time") and "days" in units_read("age")
    assert units_read("length") == ("mm", "cm", "m", "in")

"""Numbers with units: volumes, pots, lengths, temperatures."""

from __future__ import annotations

import pytest

from pipeline.intake.cells.quantities import is_date_like
from pipeline.intake.cells.readings import Setting
from pipeline.intake.cells.volumes import read_length, read_pot_volume, read_temperature, read_volume
from pipeline.intake.characters import fold
from schemas.units import find_unit_in_heading

ML = find_unit_in_heading("ml", "volume")
CUPS = find_unit_in_heading("cups", "volume")
OZ = find_unit_in_heading("oz", "volume")
POURED = Setting("poured")


@pytest.mark.parametrize(
    ("cell", "millilitres"),
    [
        ("300 ml", 300.0),
        ("300ml", 300.0),
        ("300 ML.", 300.0),
        ("0,3 l", 300.0),
        ("0.3L", 300.0),
        ("3 dl", 300.0),
        ("30 cl", 300.0),
        ("300 cc", 300.0),
        ("300 cm³", 300.0),
        ("300cm3", 300.0),
        ("300 cm^3", 300.0),
        ("5 decilitres", 500.0),
        ("1 cup", 236.5882365),
        ("1/2 cup", 118.29411825),
        ("1 1/2 cups", 354.88235475),
        ("½ cup", 118.29411825),
        ("1½cups", 354.88235475),
        ("1⁄2 cup", 118.29411825),
        ("1 metric cup", 250.0),
        ("8 fl. oz.", 236.5882365),
        ("10 imp fl oz", 284.130625),
        ("1 US pint", 473.176473),
        ("1 imp gal", 4546.09),
        ("1 gallon", 3785.411784),
        ("18 cu. in.", 294.967152),
        ("３００ ｍｌ", 300.0),
        ("300\u00a0ml", 300.0),
        ("300\u202fml", 300.0),
        ("300\u200b ml\u200b", 300.0),
        ("1 000 ml", 1000.0),
    ],
)
def test_volumes(cell: str, millilitres: float) -> None:
    assert read_volume(fold(cell), POURED).value == millilitres


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("300", "unit_missing"),
        ("1/2", "unit_missing"),
        ("10 oz", "unit_ambiguous"),
        ("1 c", "unit_ambiguous"),
        ("1 T", "unit_ambiguous"),
        ("1 t", "unit_ambiguous"),
        ("1 ounces", "unit_ambiguous"),
        ("300 g", "unit_unknown"),
        ("300 s", "unit_unknown"),
        ("300-350 ml", "unit_unknown"),
        ("1e3 ml", "unit_unknown"),
        ("1 imp quart", "unit_unknown"),
        ("ca. 300 ml", "number_form"),
        ("~300 ml", "number_form"),
        ("<300 ml", "number_form"),
        ("inf ml", "number_form"),
        ("NaN", "number_form"),
        ("?", "number_form"),
        ("-", "number_form"),
        ("n/a", "number_form"),
        ("٣٠٠ ml", "number_form"),
        ("1.2.3 ml", "number_form"),
        ("5. ml", "number_form"),
        ("9" * 400 + " ml", "number_form"),
        ("1/0 cup", "number_form"),
        ("1-Feb", "number_is_date"),
        ("2026-02-01", "number_is_date"),
        ("01.02.2026", "number_is_date"),
        ("1. Feb", "number_is_date"),
        ("0 ml", "not_above_zero"),
        ("-5 ml", "not_above_zero"),
        ("−5 ml", "not_above_zero"),
        ("1.234 ml", "decimal_mark_open"),
    ],
)
def test_volumes_held(cell: str, rule: str) -> None:
    found = read_volume(fold(cell), POURED)
    assert (found.value, found.rule) == (None, rule)


def test_the_heading_names_the_unit_of_bare_numbers() -> None:
    assert read_volume("300", Setting("poured", ML)).value == 300.0
    assert read_volume("1/2", Setting("poured", CUPS)).value == 118.29411825
    assert read_volume("1", Setting("poured", CUPS)).mark == "cup", "the bare unit is the heading's"


def test_a_cell_unit_beside_a_heading_unit_must_be_the_same() -> None:
    assert read_volume("300 ml", Setting("poured", ML)).value == 300.0
    assert read_volume("300 cc", Setting("poured", ML)).value == 300.0, "cc and ml are one unit"
    clash = read_volume("0.3 l", Setting("poured", ML))
    assert clash.rule == "unit_clash" and clash.details == {"unit": "l", "heading_unit": "ml"}
    assert read_volume("1 metric cup", Setting("poured", CUPS)).rule == "unit_clash"


def test_an_ambiguous_heading_reads_no_bare_number() -> None:
    assert read_volume("10", Setting("poured", OZ)).rule == "unit_ambiguous"
    assert read_volume("10 fl oz", Setting("poured", OZ)).value == 295.735295625


def test_bare_kitchen_units_are_marked_and_others_are_not() -> None:
    assert read_volume("1 cup", POURED).mark == "cup"
    assert [read_volume(cell, POURED).mark for cell in ("1 US cup", "1 metric cup", "1 imp pint", "1 l")] == [
        None
    ] * 4


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("13 cm", "pot_label"),
        ("13cm", "pot_label"),
        ('5"', "pot_label"),
        ("5 inch pot", "pot_label"),
        ("#1", "pot_label"),
        ("# 3", "pot_label"),
        ("No. 2", "pot_label"),
        ("P9", "pot_label"),
        ("1 gal pot", "pot_label"),
        ("0.01 l", "pot_volume_outside"),
        ("19.99 ml", "pot_volume_outside"),
        ("500.1 l", "pot_volume_outside"),
        ("1", "unit_missing"),
        ("0 l", "not_above_zero"),
        ("1.000 l", "decimal_mark_open"),
    ],
)
def test_pot_volumes_held(cell: str, rule: str) -> None:
    found = read_pot_volume(cell, Setting("pot_volume"))
    assert (found.value, found.rule) == (None, rule)


@pytest.mark.parametrize(
    ("cell", "millilitres", "rule"),
    [
        ("20 ml", 20.0, "pot_volume_unusual"),
        ("0.02 l", 20.0, "pot_volume_unusual"),
        ("49.9 ml", 49.9, "pot_volume_unusual"),
        ("0.05 l", 50.0, None),
        ("50 l", 50_000.0, None),
        ("50.1 l", 50_100.0, "pot_volume_unusual"),
        ("500 l", 500_000.0, "pot_volume_unusual"),
        ("1 gal", 3785.411784, None),
    ],
)
def test_pot_volumes_and_their_limits(cell: str, millilitres: float, rule: str | None) -> None:
    found = read_pot_volume(cell, Setting("pot_volume"))
    assert (found.value, found.rule) == (millilitres, rule)


@pytest.mark.parametrize(
    ("cell", "centimetres"),
    [
        ("13 cm", 13.0),
        ("130 mm", 13.0),
        ("0,13 m", 13.0),
        ("5 in", 12.7),
        ('5"', 12.7),
        ("5″", 12.7),
        ("5''", 12.7),
        ('3 1/2"', 8.89),
        ("3½ inches", 8.89),
        ("5 ins.", 12.7),
    ],
)
def test_lengths(cell: str, centimetres: float) -> None:
    assert read_length(fold(cell), Setting("fill_depth", kept_per=10)).value == centimetres


@pytest.mark.parametrize(
    ("cell", "rule"), [("13", "unit_missing"), ("5'", "unit_unknown"), ("0 cm", "not_above_zero")]
)
def test_lengths_held(cell: str, rule: str) -> None:
    assert read_length(cell, Setting("fill_depth", kept_per=10)).rule == rule


@pytest.mark.parametrize(
    ("cell", "celsius"),
    [
        ("18 °C", 18.0),
        ("18C", 18.0),
        ("18℃", 18.0),
        ("18,5 deg C", 18.5),
        ("68 F", 20.0),
        ("68°F", 20.0),
        ("32 F", 0.0),
        ("113 °F", 45.0),
        ("45 °C", 45.0),
        ("0 c", 0.0),
        ("64 degrees Fahrenheit", 160 / 9),
    ],
)
def test_temperatures(cell: str, celsius: float) -> None:
    assert read_temperature(fold(cell), Setting("water_temp")).value == pytest.approx(celsius, rel=1e-15)


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("18", "unit_missing"),
        ("18 °", "unit_ambiguous"),
        ("18 degrees", "unit_ambiguous"),
        ("291 K", "unit_unknown"),
        ("45.1 °C", "temperature_outside"),
        ("-0.5 °C", "temperature_outside"),
        ("31 F", "temperature_outside"),
    ],
)
def test_temperatures_held(cell: str, rule: str) -> None:
    found = read_temperature(cell, Setting("water_temp"))
    assert (found.value, found.rule) == (None, rule)


def test_a_temperature_that_would_be_usual_in_fahrenheit_is_told_so() -> None:
    hint = read_temperature("64 °C", Setting("water_temp")).details["hint"]
    assert hint == "64 °F would be 17.8 °C. "
    assert read_temperature("200 °C", Setting("water_temp")).details["hint"] == ""


@pytest.mark.parametrize(
    "cell", ["1-Feb", "Feb-01", "1. Feb.", "3 Mai", "3. März 2026", "2026-01-03 00:00:00", "3/1/2026"]
)
def test_what_looks_like_a_date(cell: str) -> None:
    assert is_date_like(cell)


@pytest.mark.parametrize(
    "cell", ["5 decilitres", "3 m", "1/2", "1.5", "3 min", "300 ml", "12 decades", "5 mart"]
)
def test_what_does_not_look_like_a_date(cell: str) -> None:
    assert not is_date_like(cell)

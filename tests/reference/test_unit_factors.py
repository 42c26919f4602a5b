"""Unit factors against outside values.

Sources: NIST Handbook 44, Appendix C (US customary and international units), UK Weights and Measures Act 1985
(imperial), both as in `check_values/check_values.json`; the pint package's own table (its names differ); parts
against percent as common practice of the trade, which has no source.
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pint
import pytest

from pipeline.intake.cells.readings import Setting
from pipeline.intake.cells.shares import read_parts
from schemas.trade.pots import truncated_cone_ml
from schemas.units import UNITS, Unit, find_unit

VALUES = json.loads(
    (Path(__file__).parent / "check_values" / "check_values.json").read_text(encoding="utf-8")
)

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()
HANDBOOK_44 = {
    "us_tsp": "tsp",
    "us_tbsp": "tbsp",
    "us_fl_oz": "fl oz",
    "us_cup": "cup",
    "us_pint": "pint",
    "us_quart": "quart",
    "us_gal": "gal",
    "imp_fl_oz": "imp fl oz",
    "imp_pint": "imp pint",
    "imp_gal": "imp gal",
    "metric_cup": "metric cup",
    "in3": "cubic inch",
    "l": "l",
}
NOT_READ = {"imp_quart", "fda_cup"}

PINT = {
    "ml": "milliliter",
    "cl": "centiliter",
    "dl": "deciliter",
    "l": "liter",
    "cc": "cc",
    "cm3": "centimeter ** 3",
    "cubic inch": "inch ** 3",
    "cup": "cup",
    "fl oz": "fluid_ounce",
    "pint": "pint",
    "quart": "quart",
    "gal": "gallon",
    "tbsp": "tablespoon",
    "tsp": "teaspoon",
    "imp fl oz": "imperial_fluid_ounce",
    "imp pint": "imperial_pint",
    "imp gal": "imperial_gallon",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "days": "day",
    "weeks": "week",
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "in": "inch",
}
BASE = {"volume": "milliliter", "time": "second", "span": "second", "length": "millimeter"}


def unit(name: str) -> Unit:
    return next(one for one in UNITS if one.name == name)


def test_the_grid_of_outside_values_is_whole() -> None:
    assert set(VALUES["units_ml"]) == set(HANDBOOK_44) | NOT_READ


@pytest.mark.parametrize(("key", "name"), HANDBOOK_44.items())
def test_volumes_are_those_of_handbook_44(key: str, name: str) -> None:
    # exact: the handbook's decimals are exact by definition, and so are our fractions
    assert unit(name).factor == Fraction(repr(VALUES["units_ml"][key]))


@pytest.mark.parametrize(
    "one", [one for one in UNITS if one.name in PINT], ids=lambda one: f"{one.kind}-{one.name}"
)
def test_factors_agree_with_pint(one: Unit) -> None:
    theirs = REGISTRY.Quantity(1, PINT[one.name]).to(BASE[one.kind]).magnitude
    assert float(one.factor) == pytest.approx(theirs, rel=1e-12)  # pint computes in floats


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32, 0), (212, 100), (-40, -40), (68, 20), (64, Fraction(160, 9))]
)
def test_fahrenheit(fahrenheit: int, celsius: Fraction) -> None:
    found = find_unit("°F", "temperature")
    assert isinstance(found, Unit) and found.to_base(Fraction(fahrenheit)) == celsius


def test_every_unit_that_is_not_checked_here_is_named() -> None:
    checked = set(PINT) | set(HANDBOOK_44.values())
    rest = {one.name for one in UNITS} - checked
    ours = {"months", "years", "°C", "°F", "%"}
    assert rest - {name for name in rest if name.startswith("US ")} == ours


@pytest.mark.parametrize("pot", [pot for pot in VALUES["pots"] if "D_cm" in pot])
def test_truncated_cones(pot: dict[str, float]) -> None:
    depth = pot.get("fill_cm", pot.get("h_cm", 0.0))
    if "pot_h_cm" in pot:
        # 13/10 cm over 11 cm, filled to 10 cm: the width at the fill line lies on the straight wall
        top = pot["d_cm"] + (pot["D_cm"] - pot["d_cm"]) * depth / pot["pot_h_cm"]
    else:
        top = pot["D_cm"]
    assert truncated_cone_ml(top, pot["d_cm"], depth) == pytest.approx(
        pot["ml"], abs=0.005
    )  # printed to 0.01


def test_a_cone_in_inches() -> None:
    pot = next(pot for pot in VALUES["pots"] if "D_in" in pot)
    cubic_inches = truncated_cone_ml(pot["D_in"], pot["d_in"], pot["h_in"])  # the formula knows no unit
    assert cubic_inches == pytest.approx(pot["in3"], abs=0.0005)


@pytest.mark.parametrize(
    ("parts", "percent"),
    [
        ("3:2", 40),
        ("1:1", 50),
        ("2:3", 60),
        ("3:1", 25),
        ("2:1", 100 / 3),
        ("1:0", 0),
        ("4:1", 20),
        ("9:1", 10),
    ],
)
def test_parts_and_percent(parts: str, percent: float) -> None:
    """Common practice of the trade: parts by loose volume, base first."""
    assert read_parts(parts, Setting("parts")).value == pytest.approx(percent, rel=1e-15)

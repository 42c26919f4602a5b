"""Every unit that a run sheet may use: its exact factor, what fixes it, and all spellings that are read.

Letter case, dots, hyphens and underscores in a spelling make no difference. Nothing outside these tables is
read; what could mean two things is in `AMBIGUOUS`, with the choices. The dictionary page prints both tables.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

UnitKind = Literal["volume", "time", "span", "age", "temperature", "length", "share"]
"""What a cell's unit measures. A span may be days or longer, and reads the units of times as well; an age reads those
of spans."""

BASE_UNITS: dict[UnitKind, str] = {
    "volume": "ml",
    "time": "s",
    "span": "s",
    "age": "s",
    "temperature": "°C",
    "length": "mm",
    "share": "%",
}
"""The unit in which each kind's factors are stated."""

SI = "SI Brochure (BIPM), 9th edition, sections 2.3.3, 3 (prefixes) and 4 (units beside the SI): 1 l = 1 dm³, 1 min = 60 s, 1 h = 60 min, 1 d = 24 h"
INCH = "international yard of 1959: 1 in = 25.4 mm exactly (NIST Handbook 44, Appendix C)"
US = "NIST Handbook 44, Appendix C: 1 US gallon = 231 cubic inches"
IMPERIAL = "UK Weights and Measures Act 1985, Schedule 1: 1 gallon = 4.54609 dm³"
METRIC_CUP = "common practice: 250 ml; no law fixes it"
OURS = "this project: a month counts as 30 days, a year as 365"
FAHRENHEIT = "NIST Special Publication 811, Appendix B: t/°C = (t/°F - 32) / 1.8"
PERCENT = "parts in a hundred, by loose bulk volume"

READ_IN: dict[UnitKind, tuple[UnitKind, ...]] = {"time": ("time", "span", "age"), "span": ("span", "age")}
"""The kinds of cell that read units of a kind, where it is not that kind alone."""
KITCHEN_NAMES = frozenset({"cup", "oz", "pint", "quart", "gal", "tbsp", "tsp"})
"""Last words of the names of kitchen units, whatever their country."""


@dataclass(frozen=True)
class Unit:
    """One unit: a value in it, less `offset`, times `factor`, is the value in the base unit of its kind.

    `bare_kitchen` marks a kitchen unit written without a country, read as US customary and said so.
    """

    name: str
    kind: UnitKind
    factor: Fraction
    fixed_by: str
    spellings: tuple[str, ...]
    bare_kitchen: bool = False
    offset: Fraction = Fraction(0)

    @property
    def in_fractions(self) -> bool:
        """Whether amounts in it are written as fractions, `1 1/2 cups`: kitchen units and inches (common practice).
        In other units `2/4` is a range."""
        return self.name.split()[-1] in KITCHEN_NAMES or self.name in ("in", "cubic inch")

    def to_base(self, value: Fraction) -> Fraction:
        """The value in ml, s, °C, mm or percent, exactly."""
        return (value - self.offset) * self.factor

    def same_size(self, other: Unit) -> bool:
        """Whether both stand for one and the same unit, such as ml and cc, or cup and US cup."""
        return (self.kind, self.factor, self.offset) == (other.kind, other.factor, other.offset)


@dataclass(frozen=True)
class AmbiguousUnit:
    """A spelling that could mean several units: never read, always answered with the choices."""

    kind: UnitKind
    spellings: tuple[str, ...]
    choices: tuple[str, ...]


_IN3 = Fraction("16.387064")
_US_GALLON = 231 * _IN3
_IMPERIAL_GALLON = Fraction("4546.09")

_FL_OZ = ("fl oz", "floz", "fl ozs", "fl ounce", "fl ounces", "fluid oz", "fluid ounce", "fluid ounces")
_PINT = ("pint", "pints", "pt", "pts")
_GALLON = ("gal", "gals", "gallon", "gallons")

_KITCHEN: tuple[tuple[str, Fraction, tuple[str, ...]], ...] = (
    ("cup", _US_GALLON / 16, ("cup", "cups")),
    ("fl oz", _US_GALLON / 128, _FL_OZ),
    ("pint", _US_GALLON / 8, _PINT),
    ("quart", _US_GALLON / 4, ("quart", "quarts", "qt", "qts")),
    ("gal", _US_GALLON, _GALLON),
    ("tbsp", _US_GALLON / 256, ("tbsp", "tbsps", "tbs", "tablespoon", "tablespoons")),
    ("tsp", _US_GALLON / 768, ("tsp", "tsps", "teaspoon", "teaspoons")),
)
_OF_BRITAIN: tuple[tuple[str, Fraction, tuple[str, ...]], ...] = (
    ("fl oz", _IMPERIAL_GALLON / 160, _FL_OZ),
    ("pint", _IMPERIAL_GALLON / 8, _PINT),
    ("gal", _IMPERIAL_GALLON, _GALLON),
)


def _with_country(countries: tuple[str, ...], spellings: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"{country} {spelling}" for country in countries for spelling in spellings)


def _spelled_both_ways(prefix: str) -> tuple[str, ...]:
    """`prefix` before litre and liter, singular and plural."""
    return tuple(prefix + ending for ending in ("litre", "litres", "liter", "liters"))


def _metres(prefix: str) -> tuple[str, ...]:
    return tuple(prefix + ending for ending in ("metre", "metres", "meter", "meters"))


def _volume_units() -> tuple[Unit, ...]:
    metric = (
        Unit("ml", "volume", Fraction(1), SI, ("ml", "mls", *_spelled_both_ways("milli"))),
        Unit("cl", "volume", Fraction(10), SI, ("cl", "cls", *_spelled_both_ways("centi"))),
        Unit("dl", "volume", Fraction(100), SI, ("dl", "dls", *_spelled_both_ways("deci"))),
        Unit("l", "volume", Fraction(1000), SI, ("l", "ltr", "ltrs", *_spelled_both_ways(""))),
        Unit("cc", "volume", Fraction(1), SI, ("cc", "ccs", "c c", "ccm")),
        Unit("cm3", "volume", Fraction(1), SI, ("cm3", "cu cm", "cubic cm", *_metres("cubic centi"))),
        Unit("metric cup", "volume", Fraction(250), METRIC_CUP, ("metric cup", "metric cups")),
    )
    inch = Unit(
        "cubic inch",
        "volume",
        _IN3,
        INCH,
        ("cubic inch", "cubic inches", "cubic in", "cu in", "cu ins", "in3"),
    )
    bare = tuple(
        Unit(name, "volume", size, US, spellings, bare_kitchen=True) for name, size, spellings in _KITCHEN
    )
    american = tuple(
        Unit(f"US {name}", "volume", size, US, _with_country(("us", "u s"), spellings))
        for name, size, spellings in _KITCHEN
    )
    british = tuple(
        Unit(
            f"imp {name}",
            "volume",
            size,
            IMPERIAL,
            _with_country(("imp", "imperial", "uk", "u k"), spellings),
        )
        for name, size, spellings in _OF_BRITAIN
    )
    return (*metric, inch, *bare, *american, *british)


def _time_units() -> tuple[Unit, ...]:
    day = Fraction(86400)
    return (
        Unit("s", "time", Fraction(1), SI, ("s", "sec", "secs", "second", "seconds")),
        Unit("min", "time", Fraction(60), SI, ("min", "mins", "minute", "minutes", "m")),
        Unit("h", "time", Fraction(3600), SI, ("h", "hr", "hrs", "hour", "hours")),
        Unit("days", "span", day, SI, ("day", "days", "d")),
        Unit("weeks", "span", 7 * day, SI, ("week", "weeks", "wk", "wks")),
        Unit("months", "span", 30 * day, OURS, ("month", "months", "mo", "mos", "mth", "mths")),
        Unit("years", "span", 365 * day, OURS, ("year", "years", "yr", "yrs", "y")),
    )


def _degrees(letter: str, *words: str) -> tuple[str, ...]:
    before = ("", "°", "° ", "deg", "deg ", "degree ", "degrees ")
    return tuple(start + end for start in before for end in (letter, *words))


UNITS: tuple[Unit, ...] = (
    *_volume_units(),
    *_time_units(),
    Unit("°C", "temperature", Fraction(1), SI, _degrees("c", "celsius", "centigrade")),
    Unit("°F", "temperature", Fraction(5, 9), FAHRENHEIT, _degrees("f", "fahrenheit"), offset=Fraction(32)),
    Unit("mm", "length", Fraction(1), SI, ("mm", "mms", *_metres("milli"))),
    Unit("cm", "length", Fraction(10), SI, ("cm", "cms", *_metres("centi"))),
    Unit("m", "length", Fraction(1000), SI, ("m", *_metres(""))),
    Unit("in", "length", Fraction("25.4"), INCH, ("in", "ins", "inch", "inches", '"')),
    Unit(
        "%",
        "share",
        Fraction(1),
        PERCENT,
        ("%", "percent", "per cent", "pct", "vol %", "vol%", "percent by volume", "% by volume"),
    ),
)

AMBIGUOUS: tuple[AmbiguousUnit, ...] = (
    AmbiguousUnit("volume", ("oz", "ozs", "ounce", "ounces"), ("fl oz", "imp fl oz")),
    AmbiguousUnit("volume", ("c",), ("cup", "metric cup", "cl")),
    AmbiguousUnit("volume", ("t",), ("tbsp", "tsp")),
    AmbiguousUnit("temperature", ("°", "deg", "degree", "degrees"), ("°C", "°F")),
    AmbiguousUnit("age", ("m",), ("minutes", "months")),
)

_SEPARATORS = re.compile(r"[\s._\-^]+")
_SAME_MARK = str.maketrans({"³": "3", "″": '"', "”": '"', "ℓ": "l", "º": "°"})


def unit_key(text: str) -> str:
    """A spelling with letter case, dots, hyphens, underscores and runs of spaces evened out."""
    plain = (
        text.translate(_SAME_MARK).replace("''", '"').casefold().replace("cm^3", "cm3").replace("in^3", "in3")
    )
    return _SEPARATORS.sub(" ", plain).strip()


AnyUnit = Unit | AmbiguousUnit


def _by_spelling(closed: bool) -> dict[tuple[UnitKind, str], AnyUnit]:
    """Units by kind of cell and spelling; an ambiguous one comes before any other. `closed` leaves out the spaces
    between words."""
    table: dict[tuple[UnitKind, str], AnyUnit] = {}
    every: tuple[AnyUnit, ...] = (*AMBIGUOUS, *UNITS)
    for unit in every:
        for spelling in unit.spellings:
            plain = unit_key(spelling)
            for kind in READ_IN.get(unit.kind, (unit.kind,)):
                table.setdefault((kind, plain.replace(" ", "") if closed else plain), unit)
    return table


_BY_SPELLING = _by_spelling(closed=False)
_BY_CLOSED_SPELLING = _by_spelling(closed=True)


def find_unit(text: str, kind: UnitKind) -> AnyUnit | None:
    """What a spelling typed in a cell of that kind stands for; None where it is not read there."""
    return _BY_SPELLING.get((kind, unit_key(text)))


def find_unit_in_heading(text: str, kind: UnitKind) -> AnyUnit | None:
    """What the end of a heading stands for, spaces between words left out: `floz` as well as `fl oz`."""
    return _BY_CLOSED_SPELLING.get((kind, unit_key(text).replace(" ", "")))


def units_read(kind: UnitKind) -> tuple[str, ...]:
    """Names of the units that cells of that kind may carry, for messages and the dictionary."""
    return tuple(
        unit.name
        for unit in UNITS
        if kind in READ_IN.get(unit.kind, (unit.kind,)) and not unit.name.startswith("US ")
    )

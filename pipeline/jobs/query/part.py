"""Which part of the pool a question is about: what was typed, checked, and turned into a filter on runs."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

import polars as pl

from pipeline.errors import WrongUseError
from pipeline.jobs.dates import read_day
from schemas.results.whole import PartValue
from schemas.trade.small_numbers import MONTH
from schemas.units import AmbiguousUnit, find_unit, units_read
from schemas.vocabulary import CHOICES, CLIMATE_MAIN_GROUPS, match_choice

COLUMN_OF = {
    "climate": "climate_zone",
    "setup": "setup_type",
    "grade": "component_grade",
    "component": "component",
    "base": "base",
}
WHOLE = ("component", "base")
"""Columns that say what is compared; all others split it."""
NUMBER_WITH_UNIT = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*(\D+)", re.ASCII)
TWO_READINGS = re.compile(r"[1-9][0-9]{0,2}[.,][0-9]{3}\Z", re.ASCII)


@dataclass(frozen=True)
class Part:
    """A part of the pool. `words`: allowed values by column, none for all. Ends are included; None is open.
    `months_only`: its days stand for their months."""

    words: Mapping[str, tuple[str, ...]]
    pot_from_ml: float | None = None
    pot_to_ml: float | None = None
    since: date | None = None
    until: date | None = None
    months_only: bool = False

    def of(self, runs: pl.DataFrame) -> pl.DataFrame:
        """The runs that belong to this part."""
        wanted = [
            pl.col(column).is_in([*values, *_whole_groups(values)]) for column, values in self.words.items()
        ]
        for column, low, high in (
            ("pot_volume_ml", self.pot_from_ml, self.pot_to_ml),
            ("tested_on", self.since, self.until),
        ):
            wanted += [pl.col(column) >= low] if low is not None else []
            wanted += [pl.col(column) <= high] if high is not None else []
        return runs.filter(*wanted) if wanted else runs

    def by_month(self) -> Part:
        """The same part with whole months for days: from the first month on, up to the end of the last."""
        since, until = (day and day.replace(day=1) for day in (self.since, self.until))
        return replace(self, since=since, until=until, months_only=True)

    @property
    def whole(self) -> Part:
        """What this part is set beside: everything of its components and bases."""
        words = {column: values for column, values in self.words.items() if column in WHOLE}
        return Part(words, months_only=self.months_only)

    @property
    def narrows(self) -> bool:
        """Whether this is less than everything of its components and bases."""
        return self != self.whole

    def as_value(self) -> PartValue:
        """The part as `where` of `query --format json`: by option, and only what was asked for."""
        value: PartValue = {
            option: list(self.words[column]) for option, column in COLUMN_OF.items() if column in self.words
        }
        if self.pot_from_ml is not None or self.pot_to_ml is not None:
            value["pot_volume_ml"] = [self.pot_from_ml, self.pot_to_ml]
        form = MONTH if self.months_only else "%Y-%m-%d"
        days = {"since": self.since, "until": self.until}
        return value | {name: f"{day:{form}}" for name, day in days.items() if day is not None}


def _whole_groups(values: Sequence[str]) -> list[str]:
    """The main groups of climate of which every class is wanted: a place that everyone may see by its main letter only
    belongs to them too."""
    classes = [choice.value for choice in CHOICES["climate_zone"]]
    letters = (choice.value for choice in CLIMATE_MAIN_GROUPS)
    return [
        letter for letter in letters if {name for name in classes if name.startswith(letter)} <= set(values)
    ]


def read_part(typed: Mapping[str, str | None]) -> Part:
    """The part that the options describe, by option name without dashes (`pot_volume`, `since` …).
    WrongUseError, worded, where one of them can't be read."""
    words = {
        column: _climates(text) if option == "climate" else _choices(option, text)
        for option, column in COLUMN_OF.items()
        if (text := typed.get(option)) is not None
    }
    low, high = _pot_volumes(typed.get("pot_volume"))
    since, until = (
        read_day(text, f"--{option}") if (text := typed.get(option)) is not None else None
        for option in ("since", "until")
    )
    if since is not None and until is not None and since > until:
        raise WrongUseError(f"--since {since} is later than --until {until}.")
    return Part(words, low, high, since, until)


def read_share(typed: str | None) -> float:
    """The share behind `--against`, in percent; 0, straight base, without it. WrongUseError where it is no share."""
    if typed is None:
        return 0.0
    typed_share = re.fullmatch(r"([0-9]+(?:[.,][0-9]+)?)\s*%?", typed.strip(), re.ASCII)
    share = float(typed_share[1].replace(",", ".")) if typed_share else -1.0
    if not 0 <= share <= 100 or 0 < share < 1:
        raise WrongUseError(f"--against: “{typed}” is not a share. Write percent by volume, like 30 or 33.3.")
    return share


def _listed(option: str, text: str) -> list[str]:
    values = [value.strip() for value in text.split(",") if value.strip()]
    if not values:
        raise WrongUseError(f"--{option} needs a value behind it.")
    return values


def _choices(option: str, text: str) -> tuple[str, ...]:
    vocabulary = COLUMN_OF[option]
    allowed = [choice.value for choice in CHOICES[vocabulary]]
    chosen = []
    for typed in _listed(option, text):
        word = match_choice(vocabulary, typed)
        if word is None:
            raise WrongUseError(f"--{option}: “{typed}” is not known. Choose from: {', '.join(allowed)}.")
        chosen.append(word)
    return tuple(sorted(set(chosen), key=allowed.index))


def _climates(text: str) -> tuple[str, ...]:
    """Classes, a main group standing for all its classes."""
    classes = [choice.value for choice in CHOICES["climate_zone"]]
    groups = {choice.value for choice in CLIMATE_MAIN_GROUPS}
    chosen: set[str] = set()
    for typed in _listed("climate", text):
        if typed.upper() in groups:
            chosen |= {name for name in classes if name.startswith(typed.upper())}
            continue
        word = match_choice("climate_zone", typed)
        if word is None:
            raise WrongUseError(
                f"--climate: “{typed}” is not a Köppen-Geiger class. Write a class like Cfb, several like Cfb,Csb, "
                f"or a main group: {', '.join(sorted(groups))}."
            )
        chosen.add(word)
    return tuple(sorted(chosen, key=classes.index))


def _pot_volumes(text: str | None) -> tuple[float | None, float | None]:
    if text is None:
        return None, None
    ends = [end.strip() for end in text.split("..")]
    if len(ends) != 2 or not any(ends):
        raise WrongUseError(f"--pot-volume: “{text}” is not a range. Write one like 0.5l..2l, ..2l or 1l..")
    low, high = (_millilitres(end) if end else None for end in ends)
    if low is not None and high is not None and low > high:
        raise WrongUseError(
            f"--pot-volume: {ends[0]} is more than {ends[1]}. The smaller volume comes first."
        )
    return low, high


def _millilitres(text: str) -> float:
    number_and_unit = NUMBER_WITH_UNIT.fullmatch(text)
    if number_and_unit is None:
        raise WrongUseError(
            f"--pot-volume: “{text}” is not a volume. Write a number and its unit, like 0.5l; a unit is never guessed."
        )
    number = number_and_unit[1]
    if TWO_READINGS.match(number):
        whole, rest = re.split("[.,]", number)
        raise WrongUseError(
            f"--pot-volume: “{text}” can be {whole}.{rest}0 or {whole}{rest}. Write the one that you mean."
        )
    unit = find_unit(number_and_unit[2].strip(), "volume")
    if unit is None or isinstance(unit, AmbiguousUnit):
        choices = unit.choices if unit else units_read("volume")
        raise WrongUseError(
            f"--pot-volume: the unit of “{text}” can't be read. Choose from: {', '.join(choices)}."
        )
    return float(unit.to_base(Fraction(number.replace(",", "."))))

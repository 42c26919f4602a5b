"""Every kind of column, whatever is typed: a value, or a rule of the catalogue whose sentence can be filled; never a
failure, never half of both."""

from __future__ import annotations

import math
from datetime import date
from functools import cache
from string import Formatter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.intake.cells.readers import ColumnReader, readers_of
from pipeline.intake.cells.readings import Setting
from pipeline.intake.characters import fold
from schemas.kinds.run import RUN
from schemas.rules import rule
from schemas.units import UNITS, find_unit_in_heading
from schemas.vocabulary import CHOICES
from tests.rounds import examples

WORDS = sorted(
    {choice.value for choices in CHOICES.values() for choice in choices}
    | {spelling for unit in UNITS for spelling in unit.spellings}
)
CELLS = st.one_of(
    st.text(alphabet="0123456789.,:/+- '\"½¾%°#tohmsadeinlcup", max_size=16),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=12),
    st.sampled_from(WORDS),
    st.tuples(st.integers(0, 10**6), st.sampled_from(["", " ", "-"]), st.sampled_from(WORDS)).map(
        lambda cell: f"{cell[0]}{cell[1]}{cell[2]}"
    ),
    st.dates(date(1900, 1, 1), date(2100, 1, 1)).map(str),
)
KNOWN_OF_EVERY_CELL = {"value", "column", "row", "file"}


@cache
def readers() -> dict[str, ColumnReader]:
    return {reader.column: reader for reader in readers_of(RUN)}


def setting_of(reader: ColumnReader, mark: str, heading: str) -> Setting:
    kind = next(column for column in RUN.columns if column.name == reader.column).unit_kind
    unit = find_unit_in_heading(heading, kind) if kind else None
    return Setting(
        reader.column, unit, mark, "open", reader.kept_per, reader.choices, longest=reader.longest_length
    )


def placeholders(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@pytest.mark.parametrize("column", [column.name for column in RUN.columns])
@settings(max_examples=examples(0.75))
@given(
    cell=CELLS,
    mark=st.sampled_from(["", ".", ","]),
    heading=st.sampled_from(["", "ml", "cups", "s", "min", "h", "days", "cm", "in", "c", "%"]),
)
def test_whatever_is_typed_is_read_or_worded(column: str, cell: str, mark: str, heading: str) -> None:
    reader = readers()[column]
    text = fold(cell)
    if not text:
        return
    setting = setting_of(reader, mark, heading)
    reading = reader.read(text, setting)
    assert reading == reader.read(text, setting), "the same cell is read the same"
    if reading.rule is None:
        assert reading.value is not None
    else:
        found = rule(reading.rule)
        assert (reading.value is None) == (found.level == "held"), (cell, reading)
        missing = placeholders(found.message + found.fix) - set(reading.details) - KNOWN_OF_EVERY_CELL
        assert not missing, (cell, reading.rule, missing)
    if isinstance(reading.value, float):
        assert math.isfinite(reading.value)


@pytest.mark.parametrize("column", [column.name for column in RUN.columns if column.example])
def test_the_example_of_every_column_is_read_without_a_word(column: str) -> None:
    reader = readers()[column]
    example = next(one.example for one in RUN.columns if one.name == column)
    reading = reader.read(fold(example), setting_of(reader, ".", ""))
    assert reading.value is not None and reading.rule is None, reading


@pytest.mark.parametrize("column", [column.name for column in RUN.columns if column.choices])
def test_every_word_of_a_vocabulary_is_read_in_any_case_and_spacing(column: str) -> None:
    reader = readers()[column]
    for choice in CHOICES[reader.choices]:
        for typed in (
            choice.value,
            choice.value.upper(),
            choice.value.replace("_", " "),
            choice.value.replace("_", "-"),
        ):
            assert reader.read(fold(typed), setting_of(reader, "", "")).value == choice.value

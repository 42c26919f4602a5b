"""Codes, labels, notes, choices and climate classes: what is kept as typed, what it is compared by, what is offered."""

from __future__ import annotations

import string
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.cells.readings import Setting
from pipeline.intake.cells.words import (
    LONGEST_CODE,
    LONGEST_NOTES,
    LONGEST_SERIES,
    read_choice,
    read_climate,
    read_code,
    read_notes,
    read_series,
)
from schemas.formula_guards import guarded
from schemas.trade.labels import HYPHENS, label_key
from schemas.vocabulary import CHOICES, CLASSES_OF_OTHER_SCHEMES

MEMBER, SERIES, NOTES, CLIMATE = (Setting(name) for name in ("member", "series", "notes", "climate_zone"))
PLAIN = string.ascii_letters + string.digits
CODES = st.builds(
    lambda first, rest: first + rest,
    st.sampled_from(PLAIN),
    st.text(PLAIN + "-", min_size=1, max_size=LONGEST_CODE - 1),
)


@given(CODES)
def test_a_plain_code_is_kept_as_spelled_and_compared_by_its_key(code: str) -> None:
    reading = read_code(code, MEMBER)
    assert (reading.value, reading.rule, reading.mark) == (code, None, label_key(code))


@given(CODES, st.sampled_from(sorted(HYPHENS)))
def test_every_hyphen_of_a_code_is_the_same(code: str, hyphen: int) -> None:
    typed = code.replace("-", chr(hyphen))
    assert read_code(typed, MEMBER).mark == label_key(code)


@pytest.mark.parametrize(
    "code",
    ["fen 07", "fen_07", "-fen", "f", "", "fen/07", "fen.07", "a" * (LONGEST_CODE + 1), "fén²", "fen①"],
)
def test_what_is_no_code_is_held(code: str) -> None:
    reading = read_code(code, MEMBER)
    assert (reading.value, reading.rule) == (None, "code_form")


@pytest.mark.parametrize("code", ["Ängel-3", "šmíd-1", "жук-2", "ολγα"])
def test_letters_of_any_one_alphabet_make_a_code(code: str) -> None:
    assert read_code(code, MEMBER).value == unicodedata.normalize("NFC", code)
    assert read_code(unicodedata.normalize("NFD", code), MEMBER).value == unicodedata.normalize("NFC", code)


@pytest.mark.parametrize("code", ["fеn-07", "Αnna", "оtter-3"])
def test_look_alike_letters_of_two_alphabets_are_held(code: str) -> None:
    assert read_code(code, MEMBER).rule == "code_mixes_alphabets"


def test_a_garbled_code_is_held_with_what_it_probably_was() -> None:
    reading = read_code("MÃ¼ller", MEMBER)
    assert reading.rule == "code_form" and "Müller" in reading.details["hint"]


def test_guessed_letters_are_not_taken_for_a_code() -> None:
    guessed = Setting("member", letters_guessed=True)
    assert read_code("søren", guessed).rule == "code_letters_guessed"
    assert read_code("soren", guessed).value == "soren"
    assert read_code("müller", guessed).value == "müller"


@given(
    st.text(st.characters(codec="ascii", exclude_categories=["Cc"]), min_size=1, max_size=LONGEST_SERIES)
    .map(str.strip)
    .filter(bool)
)
def test_a_label_is_kept_and_its_guard_comes_off(label: str) -> None:
    if len(guarded(label)) <= LONGEST_SERIES:
        reading = read_series(guarded(label), SERIES)
        assert (reading.value, reading.mark, reading.rule) == (label, label_key(label), None)


@pytest.mark.parametrize(("length", "rule"), [(LONGEST_SERIES, None), (LONGEST_SERIES + 1, "series_length")])
def test_how_long_a_label_may_be(length: int, rule: str | None) -> None:
    reading = read_series("x" * length, SERIES)
    assert reading.rule == rule and (reading.value is None) == (rule is not None)


@pytest.mark.parametrize(("length", "rule"), [(LONGEST_NOTES, None), (LONGEST_NOTES + 1, "notes_length")])
def test_how_long_notes_may_be(length: int, rule: str | None) -> None:
    assert read_notes("ä" * length, NOTES).rule == rule


def test_a_garbled_label_is_kept_and_said() -> None:
    reading = read_series("FrÃ¼hling", SERIES)
    assert (reading.value, reading.rule) == ("FrÃ¼hling", "label_garbled")
    assert reading.details == {"likely": "Frühling"}


NAMES = sorted(name for name in CHOICES if name != "climate_zone")


@pytest.mark.parametrize("name", NAMES)
def test_an_unknown_word_is_held_with_the_choices(name: str) -> None:
    reading = read_choice("xylophone", Setting("any", choices=name))
    assert (reading.value, reading.rule) == (None, "word_unknown")
    first, last = (CHOICES[name][place].value for place in (0, -1))
    assert first in reading.details["words"] and last in reading.details["words"]


@pytest.mark.parametrize("name", NAMES)
def test_a_word_with_one_letter_too_many_is_offered(name: str) -> None:
    for choice in CHOICES[name]:
        if len(choice.value) > 5:
            reading = read_choice(choice.value[:-1] + "x" + choice.value[-1], Setting("any", choices=name))
            assert reading.value is None and choice.value in reading.details["hint"], choice.value


@pytest.mark.parametrize("choice", CHOICES["climate_zone"], ids=lambda choice: choice.value)
def test_every_climate_class_in_any_letter_case(choice: object) -> None:
    value = getattr(choice, "value", "")
    for typed in (value, value.upper(), value.lower(), value.title()):
        assert read_climate(typed, CLIMATE).value == value


@pytest.mark.parametrize("other", CLASSES_OF_OTHER_SCHEMES)
def test_classes_of_other_schemes_are_held_with_ours(other: str) -> None:
    reading = read_climate(other, CLIMATE)
    assert (reading.value, reading.rule) == (None, "climate_other_scheme")
    named = reading.details["instead"]
    assert any(choice.value in named for choice in CHOICES["climate_zone"])


def test_a_hardiness_zone_is_known_as_one() -> None:
    reading = read_climate("7b", CLIMATE)
    assert reading.rule == "climate_unknown_class" and "hardiness_zone" in reading.details["hint"]
    assert read_climate("unknown", CLIMATE).rule == "climate_not_given"

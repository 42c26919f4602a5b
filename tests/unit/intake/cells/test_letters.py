"""Letters that were changed on the way are named, and taken into no code."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.desk.pool.own import as_sheet
from pipeline.intake.cells.letters import before_garbling, reads_alike
from tests.unit.intake.writing import read, rules, sheet, values

WORDS = st.text(alphabet="abcäöüßéñ květ Łódź", min_size=1, max_size=12)


@given(WORDS, st.sampled_from(["cp1252", "cp1250", "mac_roman"]))
def test_text_read_in_another_encoding_is_known_again(word: str, encoding: str) -> None:
    try:
        garbled = word.encode().decode(encoding)
    except UnicodeDecodeError:
        return
    assert before_garbling(garbled) == ("" if word.isascii() else word)


@given(WORDS)
def test_words_of_their_own_are_not_taken_for_changed_ones(word: str) -> None:
    assert before_garbling(word) == ""


@pytest.mark.parametrize(("code", "alike"), [("müller", True), ("bøeh", False), ("gr\u0161n", False)])
def test_letters_that_older_encodings_share(code: str, alike: bool) -> None:
    assert all(map(reads_alike, code)) is alike


@pytest.mark.parametrize("encoding", ["cp1250", "mac_roman"])
def test_a_code_is_not_taken_with_other_letters(encoding: str) -> None:
    sent = sheet({"member": "břeh-7" if encoding == "cp1250" else "grün-7"}).encode(encoding)
    assert rules(read(sent)) == ["code_letters_guessed"]
    assert rules(read(sheet({"member": "grün-7"}).encode("cp1252"))) == ["letters_guessed"]


def test_a_code_of_two_alphabets_is_held_in_every_code_column() -> None:
    twins = {"member": "FE-04", "club": "BOG"}
    assert rules(read(sheet(twins))) == []
    for column, code in twins.items():
        mixed = code.replace("E", "\u0415").replace("O", "\u041e")
        assert rules(read(sheet({**twins, column: mixed}))) == ["code_mixes_alphabets"]
    assert rules(read(sheet({"member": "\u0424\u0415-04"}))) == []


@pytest.mark.parametrize("label", ["-2", "+1", "@x", "=x", "'tis", "'-2", "|a", "bench"])
def test_a_label_of_the_desks_own_sheet_is_read_back_as_it_was(label: str) -> None:
    read_once = read(sheet({"series": label}))
    sent = read(as_sheet(read_once.typed))
    assert values(sent, "series") == values(read_once, "series")
    assert values(sent, "series_key") == values(read_once, "series_key")

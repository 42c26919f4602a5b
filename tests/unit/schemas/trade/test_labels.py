"""Labels by one key: every way in which a spreadsheet or a person spells a code leads to the same one."""

from __future__ import annotations

import unicodedata
from typing import Literal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from schemas.trade.labels import HYPHENS, INVISIBLE, label_key, mentions, mixes_alphabets, without_mentions

LETTERS = st.text(st.characters(categories=["L", "M", "N"]), min_size=1, max_size=8)
FORMS: st.SearchStrategy[Literal["NFC", "NFD"]] = st.sampled_from(("NFC", "NFD"))
ANY = st.text(st.characters(exclude_categories=["Cs"]), max_size=24)


@st.composite
def spellings(draw: st.DrawFn, label: str) -> str:
    """The label with other dashes, cases, compositions, spaces, and invisible characters between."""
    form = draw(FORMS)
    parts = [draw(st.sampled_from(["", " ", "\u200b\t"]))]
    for letter in unicodedata.normalize(form, label):
        one = letter
        if letter == "-":
            one = chr(draw(st.sampled_from([45, *sorted(HYPHENS)])))
        elif letter == " ":
            one = draw(st.sampled_from([" ", "\u00a0", "\u2009 ", "\t"]))
        elif letter == "'":
            one = draw(st.sampled_from(list("'’‘`´")))
        elif letter.isascii() and draw(st.booleans()):
            one = letter.upper()
        parts.append(one)
        if not one.isspace() and draw(st.integers(0, 5)) == 0:
            parts.append(chr(draw(st.sampled_from([0xAD, 0x200B, 0x200D, 0x2060, 0xFEFF, 0xFE0F]))))
    return "".join(parts)


@settings(deadline=None)
@given(ANY)
@example("İ")
@example("ŉ`")
@example("\u1fef\u0345")
def test_the_key_of_a_key_is_the_key(text: str) -> None:
    assert label_key(label_key(text)) == label_key(text)


@settings(deadline=None)
@given(st.data(), st.sampled_from(["fen-07", "müller's bench-2", "čáp-1", "spring bench"]))
def test_every_spelling_has_one_key_and_is_found_in_a_text(data: st.DataObject, label: str) -> None:
    spelled = data.draw(spellings(label))
    assert label_key(spelled) == label_key(label) == label
    text = f"By {spelled}, and {spelled} again; not {label}x nor x{label}."
    assert mentions(text, label)
    left = without_mentions(text, label, "[gone]")
    assert left.count("[gone]") == 2 and not mentions(left, label)
    assert left.endswith(f"; not {label}x nor x{label}.")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Fen‐07", "fen-07"),
        ("fen−07", "fen-07"),
        ("fe\u00adn-07", "FEN-07"),
        ("fen\u200b-07\ufeff", "fen-07"),
        ("mu\u0308ller", "MÜLLER"),
        ("Straße", "STRASSE"),
        ("Tom’s  bench", "tom's bench"),
        ("“old”\u00a0bench", '"OLD" bench'),
        ("bench\u2003 A\n", "Bench a"),
    ],
)
def test_labels_that_are_the_same(one: str, other: str) -> None:
    assert label_key(one) == label_key(other)


@pytest.mark.parametrize(
    ("one", "other"), [("fen-07", "fen07"), ("müller", "muller"), ("a b", "ab"), ("о1", "o1")]
)
def test_labels_that_differ(one: str, other: str) -> None:
    assert label_key(one) != label_key(other)


def test_file_names_mention_codes_too() -> None:
    assert mentions("2026-03_Fen‑07_spring", "fen-07")
    assert without_mentions("fen-07_spring", "fen-07", "x").startswith("x")
    assert not mentions("fen-071", "fen-07") and not mentions("fen-07-b", "fen-07")


@settings(deadline=None)
@given(LETTERS)
def test_a_text_that_is_the_label_mentions_it(label: str) -> None:
    key = label_key(label)
    if key and key[0].isalnum() and key[-1].isalnum():
        assert mentions(f"({label})", key)


@pytest.mark.parametrize("text", ["fеn-07", "Αlpha", "oмега", "аb"])
def test_mixed_alphabets(text: str) -> None:
    assert mixes_alphabets(text)


@pytest.mark.parametrize("text", ["fen-07", "фен-07", "άλφα-1", "müller-ß", "07", "", "鷺-1"])
def test_one_alphabet(text: str) -> None:
    assert not mixes_alphabets(text)


def test_nothing_visible_counts_as_invisible() -> None:
    assert not any(unicodedata.category(chr(code)) in ("Lu", "Ll", "Nd", "Pd") for code in INVISIBLE)

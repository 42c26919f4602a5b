"""Cells of words: choices, climate classes, codes, series labels."""

from __future__ import annotations

import re
import unicodedata
from difflib import get_close_matches

from pipeline.intake.cells.letters import before_garbling, reads_alike
from pipeline.intake.cells.readings import Reading, Setting
from schemas.formula_guards import unguarded
from schemas.trade.labels import HYPHENS, label_key, mixes_alphabets
from schemas.vocabulary import (
    CHOICES,
    CLASSES_OF_OTHER_SCHEMES,
    UNKNOWN_CLIMATE,
    choice_key,
    match_choice,
    match_other_scheme,
)

SHORTEST_CODE, LONGEST_CODE = 2, 32
LONGEST_SERIES, LONGEST_NOTES = 64, 500

_CODE = re.compile(rf"[^\W_](?:[^\W_]|-){{{SHORTEST_CODE - 1},{LONGEST_CODE - 1}}}\Z")


def read_choice(text: str, setting: Setting) -> Reading:
    """The allowed word that a folded cell stands for, as it is written in the pool."""
    choices = setting.choices
    known = match_choice(choices, text)
    if known is not None:
        return Reading(known)
    listed = [choice.value for choice in CHOICES[choices]]
    words = f"{listed[0]} … {listed[-1]}" if len(listed) > 20 else ", ".join(listed)
    return Reading(None, "word_unknown", {"words": words, "hint": _nearest(text, listed)})


def read_climate(text: str, setting: Setting) -> Reading:
    """The Köppen-Geiger class of a folded cell; `unknown` is read, with advice."""
    known = match_choice("climate_zone", text)
    if known == UNKNOWN_CLIMATE:
        return Reading(known, "climate_not_given")
    if known is not None:
        return Reading(known)
    other = match_other_scheme(text)
    if other is not None:
        return Reading(
            None, "climate_other_scheme", {"class": other, "instead": CLASSES_OF_OTHER_SCHEMES[other]}
        )
    zone = match_choice("hardiness_zone", text)
    hint = f"{zone} is a hardiness zone: that stands in hardiness_zone. " if zone else ""
    return Reading(None, "climate_unknown_class", {"hint": hint})


def _nearest(text: str, listed: list[str]) -> str:
    """A sentence that offers the word nearest to what was typed; empty where none is near."""
    near = get_close_matches(choice_key(text), [choice_key(word) for word in listed], n=1, cutoff=0.75)
    named = [word for word in listed if near and choice_key(word) == near[0]]
    return f"Did you mean {named[0]}? " if named else ""


def read_code(text: str, setting: Setting) -> Reading:
    """A code as spelled: 2-32 letters, digits or hyphens, starting with a letter or digit. The mark is the code
    as it is compared."""
    code = unicodedata.normalize("NFC", text.translate(HYPHENS))
    if setting.letters_guessed and not all(map(reads_alike, code)):
        return Reading(None, "code_letters_guessed", {})
    likely = before_garbling(code)
    in_form = _CODE.match(code) and all(
        letter == "-" or letter.isalpha() or letter in "0123456789" for letter in code
    )
    if likely or not in_form:
        return Reading(None, "code_form", {"hint": f"It was probably {likely}. " if likely else ""})
    if mixes_alphabets(code):
        return Reading(None, "code_mixes_alphabets", {})
    return Reading(code, mark=label_key(code))


def read_series(text: str, setting: Setting) -> Reading:
    """A series label as spelled, without the apostrophe that a download set in front: at most 64 characters. The mark is the label as it is compared."""
    if len(text) > LONGEST_SERIES:
        return Reading(None, "series_length", {"length": str(len(text))})
    label = unguarded(text)
    likely = before_garbling(label)
    if likely:
        return Reading(label, "label_garbled", {"likely": likely}, mark=label_key(label))
    return Reading(label, mark=label_key(label))


def read_notes(text: str, setting: Setting) -> Reading:
    """Notes as spelled: at most 500 characters."""
    if len(text) > LONGEST_NOTES:
        return Reading(None, "notes_length", {"length": str(len(text))})
    return Reading(text)

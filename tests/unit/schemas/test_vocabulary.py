"""Words of the columns with choices."""

from __future__ import annotations

import re

import pytest

from schemas.kinds.run import RUN
from schemas.vocabulary import CHOICES, CLIMATE_CLASSES, choice_key, match_choice, match_other_scheme

# domain.md section 6
CLIMATE_FORM = re.compile(r"^(A[fmw]|B[WS][hk]|C[swf][abc]|D[swf][abcd]|E[TF])$")
ZONE_FORM = re.compile(r"^(1[0-3]|[1-9])[ab]$")


def test_every_choice_column_has_its_words() -> None:
    named = {column.choices for column in RUN.columns if column.choices}
    assert named == set(CHOICES)
    assert {column.choices is not None for column in RUN.columns if column.kind == "choice"} == {True}


@pytest.mark.parametrize("name", sorted(CHOICES))
def test_words_are_found_however_they_are_spaced_and_cased(name: str) -> None:
    words = [choice.value for choice in CHOICES[name]]
    assert len({choice_key(word) for word in words}) == len(words)
    for word in words:
        for typed in (word, word.upper(), word.replace("_", " "), word.replace("_", "-").title()):
            assert match_choice(name, typed) == word
    assert all(choice.meaning for choice in CHOICES[name])
    assert match_choice(name, "nothing of the kind") is None


def test_thirty_climate_classes_and_26_half_zones() -> None:
    assert len(CLIMATE_CLASSES) == 30
    assert all(CLIMATE_FORM.match(choice.value) for choice in CLIMATE_CLASSES)
    zones = [choice.value for choice in CHOICES["hardiness_zone"]]
    assert len(zones) == 26 and all(ZONE_FORM.match(zone) for zone in zones)


def test_as_is_of_another_scheme() -> None:
    assert match_choice("climate_zone", "As") is None
    assert match_other_scheme("AS") == "As" and match_other_scheme("Aw") is None


def test_no_and_none_are_words_of_their_own() -> None:
    assert match_choice("yes_no", "No") == "no"
    assert match_choice("hole_cover", "none") == "none"

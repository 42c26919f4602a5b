"""The sentences of the rules on reading and cells: plain, complete, and each with its level."""

from __future__ import annotations

import re

import pytest

from schemas.rules import RULES, Rule, cells, reading, rule
from schemas.rules.questions import QUESTIONS

OURS = (*reading.RULES, *cells.RULES)
LIBRARY_WORDS = re.compile(
    r"\b(null|dtype|schema|validator|NaN|parse[dr]?|regex|exception|invalid)\b", re.IGNORECASE
)


@pytest.mark.parametrize("one", OURS, ids=lambda one: one.id)
def test_a_rule_is_whole(one: Rule) -> None:
    assert re.fullmatch(r"[a-z0-9]+(_[a-z0-9]+)*", one.id)
    for text in (one.title, one.meaning, one.message, one.fix):
        assert text.strip() == text and text
    assert one.meaning.endswith(".") and one.message.endswith(".") and one.fix.endswith(".")
    assert not LIBRARY_WORDS.search(" ".join((one.title, one.meaning, one.message, one.fix)))


@pytest.mark.parametrize("one", [one for one in OURS if one.level == "held"], ids=lambda one: one.id)
def test_a_held_file_says_what_happens_and_a_held_row_leaves_it_to_its_heading(one: Rule) -> None:
    said = one.message.lower()
    if one.scope == "file":
        assert any(words in said for words in ("held", "nothing in it was read", "nothing to read"))
    else:
        assert not re.search(r"\brow is (not )?held\b", said)


def test_ids_are_unique_and_found() -> None:
    assert len({one.id for one in RULES}) == len(RULES)
    assert rule("unit_missing").level == "held"
    with pytest.raises(KeyError):
        rule("no such rule")


def test_words_are_filled_in() -> None:
    message, fix = rule("unit_missing").worded("poured", "300", {"example": "300 ml", "units": "ml, l"})
    assert message == "poured “300” has no unit, and the heading names none."
    assert "300 ml" in fix and "ml, l" in fix


def test_braces_in_a_cell_stay_as_they_are() -> None:
    message, _ = rule("date_form").worded("tested_on", "{0} {x}", {"hint": ""})
    assert "“{0} {x}”" in message


def test_questions_to_the_member_are_advice_of_the_catalogue() -> None:
    assert {rule(name).level for name in QUESTIONS} == {"advice"}

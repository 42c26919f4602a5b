"""The protocol and its card: a blank for every number of the sheet, the contract's own counts, nothing lost or doubled."""

from __future__ import annotations

import pytest

from schemas.column import NUMBER_KINDS
from schemas.kinds.run import RUN
from schemas.trade.cautions import AT_THE_BENCH
from schemas.trade.how_to_test import (
    CHOICES_ON_CARD,
    LINES_ON_CARD,
    OF_EACH_POUR,
    PROTOCOL,
    WRITTEN_ONCE,
    BenchCard,
)
from schemas.vocabulary import CHOICES

BLANKS = [name for name, _ in (*WRITTEN_ONCE, *OF_EACH_POUR)]
WITHIN_OTHERS = {"parts", "base_parts", "component_parts"}
"""Written in the blank of the share."""


def test_every_number_of_the_sheet_has_one_blank() -> None:
    numbers = {column.name for column in RUN.columns if column.kind in NUMBER_KINDS} - WITHIN_OTHERS
    assert numbers <= set(BLANKS)
    assert len(set(BLANKS)) == len(BLANKS) and set(BLANKS) <= set(RUN.by_name)
    required = {column.name for column in RUN.columns if column.required in ("yes", "may be blank")}
    assert required <= set(BLANKS)


def test_what_may_be_ringed_are_the_words_of_the_vocabulary() -> None:
    for name, ringed in CHOICES_ON_CARD.items():
        vocabulary = RUN.by_name[name].choices or ""
        words = [choice.value.replace("_", " ") for choice in CHOICES[vocabulary]]
        assert (
            ringed.split(" · ") == words
            if name != "component_grade"
            else set(ringed.split(" · ")) <= set(words)
        )


def test_the_protocol_has_what_a_sheet_must_fix() -> None:
    """The project's notes on the trade, section 8; common practice."""
    text = " ".join(step for part in PROTOCOL for step in part.steps)
    for point in ("straight base", "scoops", "tap every pot", "holes", "rack", "third", "saucer", "10 seconds", "above the rim",
                  "eye level", "start to pour", "at least two pots", "Draw lots", "longest time", "stopped", "ran dry", "leaked", "gap", "floated"):  # fmt: skip
        assert point.lower() in text.lower(), point


def test_the_cautions_name_dust_moulds_lifting_and_glass() -> None:
    text = " ".join(AT_THE_BENCH).lower()
    assert all(word in text for word in ("dust", "moulds", "lift", "glass", "local rules"))


def test_a_card_takes_values_and_leaves_the_rest_blank() -> None:
    card = BenchCard(
        values=(("member", "fen-07"), ("setup_type", "rack")),
        pours=((("run_order", "1"), ("component_share", "3+2"), ("pot_no", "2")),),
    )
    once = {words: (value, hint) for words, value, hint in card.once}
    assert once["Your code"] == ("fen-07", "") and once["How the pot was held"] == ("rack", "")
    assert once["Mix in the pot, to the line"] == ("", "such as 1 l")
    assert len(card.lines) == LINES_ON_CARD and card.lines[0][:3] == ["1", "3+2", "2"]
    assert not any(cell for line in card.lines[1:] for cell in line)


def test_a_card_refuses_what_it_has_no_blank_for() -> None:
    with pytest.raises(ValueError, match="no blank for shoe_size"):
        BenchCard(values=(("shoe_size", "42"),))
    with pytest.raises(ValueError, match="12 lines"):
        BenchCard(pours=((),) * (LINES_ON_CARD + 1))

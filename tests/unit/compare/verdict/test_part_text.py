"""What is said of a part of the pool: first whether it differs, never a bare recipe of its own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.compare.posterior.borrowing import LevelAnswer
from pipeline.compare.verdict.borrowed import BorrowedPart, part_evidence
from pipeline.compare.verdict.part_text import MATTERS, PartAdvice, PartSubject, part_text
from pipeline.compare.verdict.verdicts import Advice, Evidence
from schemas.trade.verdicts import (
    CANNOT_TELL,
    ENOUGH,
    GRADES_DIFFER,
    HINGES_ON_ONE,
    NOT_REACHED,
    RULED_OUT,
    SHOWN,
    TOO_FEW,
)

FINE = PartSubject("grade", "fine perlite")
EVIDENCE = Evidence(np.array([0.9]), np.ones(1, dtype=bool), np.ones(1, dtype=bool), np.array([9]), 9, False)
ONE = np.ones(1)
LEVEL = LevelAnswer(0, 10, ONE, ONE, ONE, ONE, ONE, ONE, ONE, ONE, ONE, ONE, -0.25, -0.4, -0.1, SHOWN, None)


def enough(share: float) -> Advice:
    return Advice(ENOUGH, share, None)


def part(word: str | None, advice: Advice, members: int = 10, rest: int = 20, why: str = "") -> BorrowedPart:
    """A part with that word of its difference; None where the whole pool's answer stands for it."""
    level = None if word is None else replace(LEVEL, word=word)
    return BorrowedPart(level, members, rest, EVIDENCE, (), advice, (), why)


def test_a_part_that_can_not_be_told_apart_gets_the_whole_pools_share_as_the_best_guess() -> None:
    text = part_text(FINE, part(CANNOT_TELL, enough(50)), PartAdvice(enough(50), enough(50), enough(60)))
    assert text == (
        "We cannot tell whether grade matters. The whole pool's 50 % is the best guess for fine perlite too. "
        "Judged alone, 10 growers' tests need 60 %."
    )


def test_a_larger_share_for_being_as_sure_is_said_to_be_that() -> None:
    text = part_text(FINE, part(CANNOT_TELL, enough(60)), PartAdvice(enough(60), enough(50), enough(70)))
    assert "50 % is the best guess for fine perlite; being as sure there takes 60 %" in text


def test_a_shown_difference_speaks_for_itself() -> None:
    text = part_text(FINE, part(SHOWN, enough(60)), PartAdvice(enough(60), enough(50), enough(60)))
    assert text.startswith("A difference is shown: the ratio of fine perlite is 0.78 times that of the rest")
    assert "60 % is enough there" in text and "best guess" not in text
    none = Advice(NOT_REACHED, None, None)
    assert "No tested share of fine perlite is shown" in part_text(
        FINE, part(SHOWN, none), PartAdvice(none, enough(50), none)
    )


def test_too_few_growers_get_the_whole_pools_answer() -> None:
    few = Advice(TOO_FEW, None, None)
    nobody = part_text(FINE, part(None, few, members=0), PartAdvice(few, enough(50), few))
    assert nobody.endswith("The whole pool's 50 % is the best guess for fine perlite too. No test of fine perlite is in it yet.")  # fmt: skip
    assert part_text(FINE, part(None, few, members=2), PartAdvice(few, enough(50), few)).startswith(
        "2 growers tested fine perlite: too few to tell"
    )
    assert "growers are too few for an answer" in part_text(FINE, None, PartAdvice(few, few, few))


def test_without_a_rest_or_with_stopped_clocks_the_text_says_so() -> None:
    advice = PartAdvice(enough(50), enough(50), enough(50))
    assert "Too few growers tested anything else" in part_text(FINE, part(None, enough(50), rest=1), advice)
    assert "clocks were stopped" in part_text(FINE, part(None, enough(50), why="Clocks."), advice)


ADVICE = st.sampled_from(
    [enough(40), enough(60), *(Advice(word, None, None) for word in (HINGES_ON_ONE, GRADES_DIFFER, NOT_REACHED, TOO_FEW))]
)  # fmt: skip


@given(st.sampled_from([SHOWN, RULED_OUT, CANNOT_TELL, None]), st.sampled_from(sorted(MATTERS)), ADVICE, ADVICE, ADVICE)  # fmt: skip
def test_every_text_says_first_whether_a_difference_is_shown(word, split, own, whole, alone) -> None:
    given_part = part(word, own, why="" if word else "Clocks were stopped.")
    text = part_text(
        PartSubject(split, "perlite in Cfb"), given_part, PartAdvice(own, whole, alone), "Holds."
    )
    first = text.split(". ")[0]
    assert first.startswith(("A difference is shown", "No difference", "We cannot tell whether"))
    assert "Judged alone" in text and "  " not in text and "None" not in text
    assert ("Holds." in text) == (own.verdict == ENOUGH)


def test_a_part_clears_only_where_the_whole_pools_refits_allow_it_or_a_difference_is_shown() -> None:
    whole = replace(EVIDENCE, by_growers=np.zeros(1, dtype=bool), by_others=np.zeros(1, dtype=bool))
    assert not part_evidence(whole, LEVEL, 0.8).by_growers[0]
    alone = part_evidence(whole, replace(LEVEL, p_clears_without=np.array([0.85])), 0.8)
    assert alone.by_growers[0] and alone.by_others[0]
    assert not part_evidence(whole, replace(LEVEL, p_clears_without=np.array([0.7])), 0.8).by_growers[0]
    assert alone.p_clears == pytest.approx(1.0)

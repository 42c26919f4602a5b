"""The text of a part of the pool: first whether it is shown to differ, then the best guess for it, last what it says alone.

Never a share from a part alone: a wider range passes at a larger share, and that is no recipe.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.model.prediction import NEEDED_FOR_MEAN
from pipeline.compare.verdict.borrowed import BorrowedPart
from pipeline.compare.verdict.verdicts import Advice
from pipeline.compare.wording import counted, percent_words, two_figures
from schemas.trade.verdicts import ENOUGH, GRADES_DIFFER, HINGES_ON_ONE, RULED_OUT, SHOWN, TOO_FEW

MATTERS = {
    "grade": "grade matters",
    "climate": "climate matters",
    "pot": "the pot's size matters",
    "setup": "the holder matters",
    "part": "these tests differ from the rest of the pool",
}
"""By kind of split: what a difference between its levels would mean."""


@dataclass(frozen=True)
class PartSubject:
    """What a text is about. split: a key of `MATTERS`; mix: the part in words, `fine perlite`."""

    split: str
    mix: str


@dataclass(frozen=True)
class PartAdvice:
    """What is advised over both pour states: for the part, for the whole pool, and by the part alone."""

    part: Advice
    whole: Advice
    alone: Advice


def part_text(subject: PartSubject, part: BorrowedPart | None, advice: PartAdvice, settled: str = "") -> str:
    """Three or four sentences; `part` of the fresh pots, None where the whole pool has no model; `settled` on settled pots."""
    if part is None or part.members < NEEDED_FOR_MEAN:
        members = 0 if part is None else part.members
        sentences = [_too_few(subject, members), whole_pool(subject, advice.whole), _in_it(subject, members)]
        return " ".join(sentence for sentence in sentences if sentence)
    sentences = [difference_sentence(subject, part), _best_guess(subject, part, advice)]
    if advice.part.verdict == ENOUGH:
        sentences.append(settled)
    sentences.append(_alone(part.members, advice.alone))
    return " ".join(sentence for sentence in sentences if sentence)


def _too_few(subject: PartSubject, members: int) -> str:
    if not members:
        return f"No grower has tested {subject.mix} beside a baseline of their own yet."
    return f"{counted(members, 'grower')} tested {subject.mix}: too few to tell it from the rest of the pool."


def _in_it(subject: PartSubject, members: int) -> str:
    if members:
        return ""
    return f"No test of {subject.mix} is in it yet."


def difference_sentence(subject: PartSubject, part: BorrowedPart) -> str:
    """Whether the part is shown to differ from the rest of the pool."""
    if part.level is None and part.rest < NEEDED_FOR_MEAN:
        return f"Too few growers tested anything else to set {subject.mix} beside."
    if part.level is None:
        return f"We cannot tell whether {MATTERS[subject.split]}: clocks were stopped."
    level = part.level
    ratio, low, high = (
        float(np.exp(end)) for end in (level.difference, level.difference_low, level.difference_high)
    )
    between = f"{two_figures(low)} to {two_figures(high)}"
    if level.word in (SHOWN, RULED_OUT):
        first = "A difference is shown" if level.word == SHOWN else "No difference that a grower would notice"
        beside = f"the ratio of {subject.mix} is {two_figures(ratio)} times that of the rest of the pool"
        return f"{first}: {beside} ({between})."
    return f"We cannot tell whether {MATTERS[subject.split]}."


def whole_pool(subject: PartSubject, whole: Advice) -> str:
    """What the whole pool says, as the best guess for the part."""
    if whole.verdict == ENOUGH and whole.share is not None:
        return f"The whole pool's {percent_words(whole.share)} is the best guess for {subject.mix} too."
    if whole.verdict == GRADES_DIFFER:
        return "Over the whole pool grades differ, so no one share is the best guess."
    if whole.verdict == HINGES_ON_ONE:
        answer = "the answer hinges on one grower's tests"
    elif whole.verdict == TOO_FEW:
        answer = "growers are too few for an answer"
    else:
        answer = "no tested share is shown to be enough"
    return f"For the whole pool {answer}; nothing better is known for {subject.mix}."


def _best_guess(subject: PartSubject, part: BorrowedPart, advice: PartAdvice) -> str:
    own = advice.part
    if part.shown:
        return _of_its_own(subject, part, own)
    guess = whole_pool(subject, advice.whole)
    if advice.whole.verdict != ENOUGH or part.level is None or own.share == advice.whole.share:
        return guess
    start = guess.removesuffix(" too.")
    if own.verdict == ENOUGH and own.share is not None:
        return f"{start}; being as sure there takes {percent_words(own.share)}, since a difference is not ruled out."
    return f"{start}; no tested share is as sure there as the club asks, since a difference is not ruled out."


def _of_its_own(subject: PartSubject, part: BorrowedPart, own: Advice) -> str:
    """Where a difference is shown: what the part says with the whole pool behind it."""
    if own.verdict == ENOUGH and own.share is not None and part.level is not None:
        named = f" (in parts by volume {own.parts.replace(':', ' base to ')} of it)" if own.parts else ""
        return f"With the whole pool counted in, {percent_words(own.share)} is enough there{named}."
    if own.verdict == HINGES_ON_ONE:
        return f"How much {subject.mix} is enough hinges on one grower's tests."
    return f"No tested share of {subject.mix} is shown to be enough."


def _alone(members: int, alone: Advice) -> str:
    """What the part's tests say by themselves, as description."""
    tests = f"{counted(members, 'grower')}' tests"
    if alone.verdict == ENOUGH and alone.share is not None:
        return f"Judged alone, {tests} need {percent_words(alone.share)}."
    if alone.verdict == TOO_FEW:
        return f"Judged alone, {tests} are too few for an answer."
    if alone.verdict == HINGES_ON_ONE:
        return f"Judged alone, the answer of {tests} hinges on one grower."
    return f"Judged alone, {tests} show no share to be enough."

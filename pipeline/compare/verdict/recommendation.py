"""The text of a recommendation. It can't lose its counts, and says what enough means and for whom."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from pipeline.compare.posterior.claims import NEAR_POINTS, stands_beside
from pipeline.compare.posterior.clubs import APART, MEMBERS_OF_A_CLUB
from pipeline.compare.verdict.answer import Answer, Fitted, Numbers, reached_best, stopped_sentence
from pipeline.compare.verdict.chances import SpreadChances
from pipeline.compare.verdict.verdicts import Advice
from pipeline.compare.wording import (
    BASE_WORDS,
    MORE_ALIKE_THAN_POTS,
    assurance_words,
    component_words,
    counts_words,
    in_twenty,
    owner,
    percent_words,
    ratio_words,
    two_figures,
)
from schemas.trade.parts import percent_of_parts
from schemas.trade.verdicts import CLEARS, ENOUGH, GRADES_DIFFER, HINGES_ON_ONE, TOO_FEW, UNDECIDED

NOT_YET_SETTLED = "not yet known for settled pots"


@dataclass(frozen=True)
class Subject:
    """What an answer is about: component, its grade (None: all grades), base and pour state."""

    component: str
    grade: str | None
    base: str
    state: str

    @property
    def mix(self) -> str:
        """`medium perlite`."""
        return component_words(self.component, self.grade)

    @property
    def straight(self) -> str:
        """`straight sphagnum peat`."""
        return BASE_WORDS[self.base]

    @property
    def pots(self) -> str:
        """`freshly filled pots` or `settled pots`."""
        return "settled pots" if self.state == "settled" else "freshly filled pots"


def recommendation_text(
    advice: Advice, given: Answer, subject: Subject, numbers: Numbers, settled: str
) -> str:
    """Two to four sentences; `settled` is a last sentence on settled pots, or nothing."""
    goal = (
        f"at least {numbers.target_ratio:g} times as fast as {subject.straight} "
        f"in {assurance_words(numbers.assurance)} {owner(given.scope)}"
    )
    if advice.verdict == ENOUGH and advice.share is not None:
        first = _enough(advice, given, subject, goal)
    elif advice.verdict == HINGES_ON_ONE:
        first = (
            f"No share of {subject.mix} is advised: whether one drains {goal} hinges on one grower's tests. "
            "More growers testing the larger shares would settle it."
        )
    elif advice.verdict == GRADES_DIFFER:
        first = f"No one share is advised for all grades of {subject.component.replace('_', ' ')}: grades differ. See each grade."
    elif advice.verdict == TOO_FEW:
        first = _too_few(given, subject)
    else:
        first = _not_reached(given, subject, goal)
    return " ".join(part for part in (first, settled) if part)


def _enough(advice: Advice, given: Answer, subject: Subject, goal: str) -> str:
    share = advice.share
    sentence = (
        f"{percent_words(share or 0.0)} {subject.mix} is the smallest tested share that, with every larger one tested "
        f"by enough growers, drains {goal}."
    )
    if advice.parts:
        base, component = (int(part) for part in advice.parts.split(":"))
        mixed = percent_words(round(float(percent_of_parts(Fraction(base), Fraction(component))), 1))
        sentence += f" In parts by volume: {base} base to {component} {subject.mix} ({mixed})."
    sentence += _passed_over(advice)
    line = None if given.fitted is None else _line(given.fitted, share or 0.0)
    if line is None or given.fitted is None:
        return sentence
    prediction, estimated = given.fitted.prediction, given.fitted.estimate
    apart = clubs_apart(given, line)
    return (
        f"{sentence}{apart} On average it drained {ratio_words(float(np.exp(estimated.mean[line])))} "
        f"({two_figures(float(np.exp(prediction.low[line])))} to {two_figures(float(np.exp(prediction.high[line])))}) "
        f"in {subject.pots}; {in_twenty(float(given.fitted.stated.p_clears[line]))} {owner(given.scope)} would reach the target. "
        f"From {_counts(given, share)}.{_too_alike(given.fitted)}"
    )


def _passed_over(advice: Advice) -> str:
    """A sentence on larger shares that stayed undecided beside a better measured one, or nothing."""
    if not advice.passed_over:
        return ""
    shares = " and ".join(percent_words(share) for share in advice.passed_over)
    measured = "were" if len(advice.passed_over) > 1 else "was"
    return (
        f" {shares} {measured} measured by far fewer growers than a share within {NEAR_POINTS:g} points and "
        "is left undecided."
    )


def clubs_apart(given: Answer, line: int) -> str:
    """A sentence where fixed clubs differ, to stand before any average; else nothing. Clubs of fewer than 3 growers are
    not named."""
    chances = None if given.fitted is None else given.fitted.chances
    if not isinstance(chances, SpreadChances) or chances.clubs is None or given.independence is None:
        return ""
    clubs = chances.clubs
    if not clubs.apart[line]:
        return ""
    named = [
        f"{label or 'growers in no club'} {two_figures(float(np.exp(clubs.ratio[row, line])))}"
        for row, label in enumerate(given.independence.clubs)
        if clubs.members[row] >= MEMBERS_OF_A_CLUB
    ]
    if len(named) < 2:
        return f" Clubs differ by more than {APART:g} times."
    return f" Clubs differ: {', '.join(named)} times as fast."


def _too_alike(fitted: Fitted) -> str:
    """A warning where numbers are too alike to be trusted, or nothing."""
    chances = fitted.chances
    alike = isinstance(chances, SpreadChances) and chances.companion.alike
    return f" {MORE_ALIKE_THAN_POTS}" if alike else ""


def _line(fitted: Fitted, share: float) -> int | None:
    columns = np.flatnonzero(fitted.estimate.design.shares == share)
    return int(columns[0]) if len(columns) else None


def _counts(given: Answer, share: float | None) -> str:
    return counts_words(*counts_behind(given, share))


def counts_behind(given: Answer, share: float | None) -> tuple[int, int, int]:
    """Growers, series and pots with a contrast to their own baseline, at one share or at any."""
    effects = given.effects.chosen(given.effects.based)
    if share is not None:
        effects = effects.chosen(effects.share == share)
    groups = given.independence.group if given.independence else {}
    members = len({groups.get(int(member), int(member)) for member in effects.member})
    return members, len(np.unique(effects.series)), int(effects.pots.sum())


def _too_few(given: Answer, subject: Subject) -> str:
    if given.kept_back_by_clocks:
        return f"No share of {subject.mix} in {subject.pots} is advised: {stopped_sentence(given.cells)}"
    if not np.any(given.effects.based):
        return f"Too few growers to advise a share of {subject.mix} in {subject.pots}. {given.why}"
    return (
        f"Too few growers to advise a share of {subject.mix} in {subject.pots}: {_counts(given, None)} so far beside a baseline of "
        "their own; 5 growers are needed, and 4 of them at one share."
    )


def _broken_run(fitted: Fitted) -> tuple[float, float] | None:
    """The largest share that clears and the next larger one that blocks it, where there are such."""
    beside = stands_beside(fitted.estimate.design.shares, fitted.evidence.units)
    shares, verdicts = fitted.estimate.design.shares, fitted.verdicts
    clearing = [share for share, verdict in zip(shares, verdicts, strict=True) if verdict == CLEARS]
    above = [
        share
        for share, verdict, near in zip(shares, verdicts, beside, strict=True)
        if clearing and share > max(clearing) and verdict not in (CLEARS, TOO_FEW)
        if not (near and verdict == UNDECIDED)
    ]
    return (float(max(clearing)), float(min(above))) if above else None


def _not_reached(given: Answer, subject: Subject, goal: str) -> str:
    if given.stopped_runs_forbid_clears:
        return f"No share of {subject.mix} is advised: {stopped_sentence(given.cells)}"
    if given.fitted is not None and (broken := _broken_run(given.fitted)):
        low, high = (percent_words(share) for share in broken)
        return f"No share of {subject.mix} is advised: {low} drains {goal}, but {high}, a larger tested share, is not shown to."
    best = None if given.fitted is None else reached_best(given.fitted)
    sentence = f"No tested share of {subject.mix} drains {goal}."
    if best is None:
        return sentence
    line = None if given.fitted is None else _line(given.fitted, best[0])
    apart = "" if line is None else clubs_apart(given, line)
    return (
        f"{sentence}{apart} Nearest is {percent_words(best[0])}: {in_twenty(best[1])} {owner(given.scope)} would reach the "
        f"target, from {_counts(given, best[0])}."
    )

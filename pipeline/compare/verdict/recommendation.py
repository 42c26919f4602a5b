"""The text of a recommendation. It can't lose its counts, and says what enough means and for whom."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.verdict.answer import Answer, Fitted, Numbers, reached_best
from pipeline.compare.verdict.parts import share_of
from pipeline.compare.verdict.verdicts import Advice
from pipeline.compare.wording import (
    BASE_WORDS,
    assurance_words,
    component_words,
    counts_words,
    in_twenty,
    owner,
    percent_words,
    ratio_words,
    two_figures,
)
from schemas.trade.verdicts import CLEARS, ENOUGH, GRADES_DIFFER, HINGES_ON_ONE, TOO_FEW

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
        mixed = percent_words(round(share_of(base, component), 1))
        sentence += f" In parts by volume: {base} base to {component} {subject.mix} ({mixed})."
    line = None if given.fitted is None else _line(given.fitted, share or 0.0)
    if line is None or given.fitted is None:
        return sentence
    prediction, estimated = given.fitted.prediction, given.fitted.estimate
    return (
        f"{sentence} On average it drained {ratio_words(float(np.exp(estimated.mean[line])))} "
        f"({two_figures(float(np.exp(prediction.low[line])))} to {two_figures(float(np.exp(prediction.high[line])))}) "
        f"in {subject.pots}; {in_twenty(float(given.fitted.stated.p_clears[line]))} {owner(given.scope)} would reach the target. "
        f"From {_counts(given, share)}."
    )


def _line(fitted: Fitted, share: float) -> int | None:
    columns = np.flatnonzero(fitted.estimate.design.shares == share)
    return int(columns[0]) if len(columns) else None


def _counts(given: Answer, share: float | None) -> str:
    """Growers, series and pots with a contrast to their own baseline, at one share or at any."""
    effects = given.effects.chosen(given.effects.based)
    if share is not None:
        effects = effects.chosen(effects.share == share)
    groups = given.independence.group if given.independence else {}
    members = len({groups.get(int(member), int(member)) for member in effects.member})
    return counts_words(members, len(np.unique(effects.series)), int(effects.pots.sum()))


def _too_few(given: Answer, subject: Subject) -> str:
    if not np.any(given.effects.based):
        return f"Too few growers to advise a share of {subject.mix} in {subject.pots}. {given.why}"
    return (
        f"Too few growers to advise a share of {subject.mix} in {subject.pots}: {_counts(given, None)} so far beside a baseline of "
        "their own; 5 growers are needed, and 4 of them at one share."
    )


def _broken_run(fitted: Fitted) -> tuple[float, float] | None:
    """The largest share that clears and the next larger one with another verdict, where there are such."""
    shares, verdicts = fitted.estimate.design.shares, fitted.verdicts
    clearing = [share for share, verdict in zip(shares, verdicts, strict=True) if verdict == CLEARS]
    above = [
        share
        for share, verdict in zip(shares, verdicts, strict=True)
        if clearing and share > max(clearing) and verdict not in (CLEARS, TOO_FEW)
    ]
    return (float(max(clearing)), float(min(above))) if above else None


def _not_reached(given: Answer, subject: Subject, goal: str) -> str:
    if given.stopped_runs_forbid_clears:
        return (
            f"No share of {subject.mix} is advised: too many tests were stopped before the water was out, "
            "and that forbids a verdict."
        )
    if given.fitted is not None and (broken := _broken_run(given.fitted)):
        low, high = (percent_words(share) for share in broken)
        return f"No share of {subject.mix} is advised: {low} drains {goal}, but {high}, a larger tested share, is not shown to."
    best = None if given.fitted is None else reached_best(given.fitted)
    sentence = f"No tested share of {subject.mix} drains {goal}."
    if best is None:
        return sentence
    return (
        f"{sentence} Nearest is {percent_words(best[0])}: {in_twenty(best[1])} {owner(given.scope)} would reach the "
        f"target, from {_counts(given, best[0])}."
    )

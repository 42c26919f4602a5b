"""The recommendation of fresh and settled pots together, with what the grades say against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.compare.values.parts import PartStates, differing
from pipeline.compare.values.share_values import figures_at
from pipeline.compare.values.states import States
from pipeline.compare.verdict.answer import Answer, Numbers
from pipeline.compare.verdict.borrowed import BorrowedPart
from pipeline.compare.verdict.recommendation import (
    NOT_YET_SETTLED,
    Subject,
    counts_behind,
    recommendation_text,
)
from pipeline.compare.verdict.verdicts import Advice, larger_of
from schemas.results.component import BehindValue, RecommendationValue, ShareFigures
from schemas.trade.verdicts import ENOUGH, GRADES_DIFFER, NOT_REACHED


@dataclass(frozen=True)
class Advised:
    """What is advised for both pour states together (`advice` as a value) and for settled pots alone."""

    both: RecommendationValue
    settled: RecommendationValue
    advice: Advice


def advised(states: States, subject: Subject, numbers: Numbers, grades: Sequence[PartStates]) -> Advised:
    """The larger share of both states, unless grades are shown to differ; nothing is advised beside another share."""
    if numbers.against:
        text = f"Set beside {numbers.against:g} %; a share is advised beside straight base only."
        nothing = Advice(NOT_REACHED, None, None)
        value = advice_value(nothing, text, None, "fresh")
        return Advised(value, value, nothing)
    fresh = _after_grades(states.fresh.advice, [grade.fresh for grade in grades])
    settled = _after_grades(states.settled.advice, [grade.settled for grade in grades])
    both = larger_of(fresh, settled, states.fresh.run, states.settled.run)
    settled_subject = Subject(subject.component, subject.grade, subject.base, "settled")
    decided = both is settled or (settled.verdict == ENOUGH and both.share == settled.share)
    given, about = (states.settled, settled_subject) if decided else (states.fresh, subject)
    text = recommendation_text(both, given, about, numbers, settled_sentence(both, fresh, settled))
    settled_text = recommendation_text(settled, states.settled, settled_subject, numbers, "")
    return Advised(
        advice_value(both, text, given, about.state),
        advice_value(settled, settled_text, states.settled, "settled"),
        both,
    )


def _after_grades(advice: Advice, grades: Sequence[BorrowedPart | None]) -> Advice:
    """`grades_differ` where a difference between grades is shown and their own answers differ."""
    return Advice(GRADES_DIFFER, None, None) if advice.verdict == ENOUGH and differing(grades) else advice


def settled_sentence(both: Advice, fresh: Advice, settled: Advice) -> str:
    """A last sentence on settled pots, or nothing."""
    if (
        both.verdict == ENOUGH
        and settled.verdict == ENOUGH
        and fresh.share is not None
        and settled.share is not None
    ):
        if fresh.share == settled.share:
            return "The same share holds for freshly filled and for settled pots."
        return f"Freshly filled pots need {fresh.share:g} %, settled pots {settled.share:g} %; the larger counts."
    if both.verdict == ENOUGH:
        return f"It holds for freshly filled pots; {NOT_YET_SETTLED}."
    if fresh.verdict == ENOUGH and settled.verdict == NOT_REACHED and fresh.share is not None:
        return f"Freshly filled pots reach it at {fresh.share:g} %, settled pots at no tested share."
    return ""


def advice_value(
    advice: Advice, text: str, given: Answer | None, state: str, figures: ShareFigures | None = None
) -> RecommendationValue:
    """A recommendation as it stands in `results.json`; `given`: the answer of the state that decides it; `figures`: of
    the share, where they are not that answer's own."""
    if figures is None and given is not None and advice.share is not None:
        figures = figures_at(given, advice.share)
    value: RecommendationValue = {
        "share": advice.share,
        "parts": advice.parts,
        "verdict": advice.verdict,
        "text": text,
        "deciding_state": state,
        "ratio": None if figures is None else figures["ratio"],
        "ci": None if figures is None else figures["ci"],
        "new_series": None if figures is None else figures["new_series"],
        "p_clears": None if figures is None else figures["p_clears"],
        "p_all": None if figures is None else figures["p_all"],
        "behind": None if given is None or advice.share is None else _behind(given, advice.share),
    }
    if advice.verdict != ENOUGH:
        value["why"] = text
    elif advice.parts is None:
        value["why"] = "No ratio of whole parts up to 5 comes near enough to this share."
    if advice.verdict == ENOUGH and value["ratio"] is None:
        few = "Fewer than 3 growers of this part measured that share, so it has no figures of its own there."
        value["why"] = " ".join([*([value["why"]] if "why" in value else []), few])
    elif advice.verdict == ENOUGH and value["p_all"] is None:
        clocks = "Clocks were stopped: the chance for all larger shares together is not worked out."
        value["why"] = " ".join([*([value["why"]] if "why" in value else []), clocks])
    return value


def _behind(given: Answer, share: float) -> BehindValue:
    members, series, pots = counts_behind(given, share)
    return {"members": members, "series": series, "pots": pots}

"""The recommendation of fresh and settled pots together, with what the grades say against it."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.compare.values.share_values import figures_at, p_clears_at
from pipeline.compare.values.states import States
from pipeline.compare.verdict.answer import Answer, Numbers
from pipeline.compare.verdict.recommendation import (
    NOT_YET_SETTLED,
    Subject,
    counts_behind,
    recommendation_text,
)
from pipeline.compare.verdict.verdicts import Advice, larger_of
from schemas.results.component import BehindValue, RecommendationValue
from schemas.trade.verdicts import ENOUGH, GRADES_DIFFER, NOT_REACHED

GRADE_MAY_FALL_SHORT_BY = 0.10
MEMBERS_FOR_A_GRADE = 5


@dataclass(frozen=True)
class Advised:
    """What is advised for both pour states together and for settled pots alone."""

    both: RecommendationValue
    settled: RecommendationValue


def advised(states: States, subject: Subject, numbers: Numbers, grades: list[States]) -> Advised:
    """The larger share of both states, unless a grade falls short at it; nothing is advised beside another share."""
    of_fresh, of_settled = [grade.fresh for grade in grades], [grade.settled for grade in grades]
    if numbers.against:
        text = f"Set beside {numbers.against:g} %; a share is advised beside straight base only."
        nothing = advice_value(Advice(NOT_REACHED, None, None), text, None, "fresh")
        return Advised(nothing, nothing)
    fresh = _after_grades(states.fresh.advice, of_fresh, numbers)
    settled = _after_grades(states.settled.advice, of_settled, numbers)
    both = larger_of(fresh, settled, states.fresh.run, states.settled.run)
    if both.verdict == ENOUGH:
        both = _after_grades(both, of_fresh, numbers)
        if settled.verdict == ENOUGH:
            both = _after_grades(both, of_settled, numbers)
    settled_subject = Subject(subject.component, subject.grade, subject.base, "settled")
    decided = both is settled or (settled.verdict == ENOUGH and both.share == settled.share)
    given, about = (states.settled, settled_subject) if decided else (states.fresh, subject)
    text = recommendation_text(both, given, about, numbers, _settled_sentence(both, fresh, settled))
    settled_text = recommendation_text(settled, states.settled, settled_subject, numbers, "")
    return Advised(
        advice_value(both, text, given, about.state),
        advice_value(settled, settled_text, states.settled, "settled"),
    )


def _after_grades(advice: Advice, grades: list[Answer], numbers: Numbers) -> Advice:
    """`grades_differ` where a grade with 5 growers at the advised share falls short of the assurance by over 0.10."""
    if advice.verdict != ENOUGH or advice.share is None:
        return advice
    for grade in grades:
        measured = p_clears_at(grade, advice.share)
        if (
            measured is not None
            and measured[0] >= MEMBERS_FOR_A_GRADE
            and not measured[1] >= numbers.assurance - GRADE_MAY_FALL_SHORT_BY
        ):
            return Advice(GRADES_DIFFER, None, None)
    return advice


def _settled_sentence(both: Advice, fresh: Advice, settled: Advice) -> str:
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


def advice_value(advice: Advice, text: str, given: Answer | None, state: str) -> RecommendationValue:
    """A recommendation as it stands in `results.json`; `given`: the answer of the state that decides it."""
    figures = None if given is None or advice.share is None else figures_at(given, advice.share)
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
    if advice.verdict == ENOUGH and value["p_all"] is None:
        clocks = "Clocks were stopped: the chance for all larger shares together is not worked out."
        value["why"] = " ".join([*([value["why"]] if "why" in value else []), clocks])
    return value


def _behind(given: Answer, share: float) -> BehindValue:
    members, series, pots = counts_behind(given, share)
    return {"members": members, "series": series, "pots": pots}

"""One component's block of `results.json`: fresh and settled pots, every grade, every base."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.compare.contrasts.cells import measured_from
from pipeline.compare.contrasts.repeatability import Repeatability, pool_repeatability
from pipeline.compare.contrasts.selection import (
    cells_of,
    of_component,
    ran_dry_counts,
    settled_pour,
    single_runs,
    ties_of,
)
from pipeline.compare.stopped.answer import answer_by_stopped_runs
from pipeline.compare.values.details import Behind, details_value
from pipeline.compare.values.share_values import (
    heterogeneity_value,
    p_clears_at,
    refits_value,
    repeatability_value,
    shares_value,
)
from pipeline.compare.verdict.answer import Answer, Numbers, answer
from pipeline.compare.verdict.recommendation import NOT_YET_SETTLED, Subject, recommendation_text
from pipeline.compare.verdict.verdicts import Advice, larger_of
from pipeline.compare.wording import component_words
from pipeline.settings import Settings
from schemas.trade.headline import FRESH_POUR, MAIN_BASE
from schemas.trade.shares import joins
from schemas.trade.verdicts import ENOUGH, GRADES_DIFFER, NOT_REACHED, TOO_FEW

GRADES = ("fine", "medium", "coarse")
MEMBERS_FOR_A_BASE = 5
GRADE_MAY_FALL_SHORT_BY = 0.10


@dataclass(frozen=True)
class States:
    """Fresh and settled answers of one subset, with the runs that ended dry in each."""

    fresh: Answer
    settled: Answer
    fresh_dry: dict[float, int]
    settled_dry: dict[float, int]
    settled_pour: int


@dataclass(frozen=True)
class Block:
    """A component in one base: its value for `results.json` and the answers behind it."""

    value: dict[str, Any]
    states: States
    chosen: pl.DataFrame
    numbers: Numbers


def component_block(
    runs: pl.DataFrame, component: str, settings: Settings, against: float = 0.0, behind: bool = True
) -> Block:
    """The component in sphagnum peat, with its grades and the other bases, beside straight base or `against`."""
    block = base_block(runs, component, MAIN_BASE, settings, against, behind)
    block.value["bases"] = _bases(runs, component, settings, against, behind)
    return block


def base_block(
    runs: pl.DataFrame, component: str, base: str, settings: Settings, against: float, behind: bool = True
) -> Block:
    """One component in one base: pooled, settled, per grade; with `behind` what stands behind the pooled headline."""
    every = of_component(runs, component, base)
    chosen = every.filter(pl.col("in_headline"))
    numbers = Numbers(
        settings.target_ratio,
        settings.assurance,
        settings.reference_share - _counted_share(chosen, against),
        _counted_share(chosen, against),
    )
    pour = settled_pour(chosen)
    repeat = _repeatability(chosen, pour, settings)
    pooled = _states(chosen, pour, repeat, settings, numbers)
    grades = {
        grade: _states(chosen.filter(pl.col("component_grade") == grade), pour, repeat, settings, numbers)
        for grade in GRADES
    }
    subject = Subject(component, None, base, "fresh")
    value = _value(pooled, subject, numbers, list(grades.values()))
    value["grades"] = {
        grade: _value(states, Subject(component, grade, base, "fresh"), numbers, [])
        for grade, states in grades.items()
    }
    value["counts"] = _counts(chosen)
    if behind and not against:
        share = value["recommendation"]["share"]
        value |= details_value(Behind(every, chosen, pooled.fresh, pour), numbers, settings, share)
    return Block(value, pooled, chosen, numbers)


def _counted_share(chosen: pl.DataFrame, against: float) -> float:
    """The share that a wanted one counts as: the nearest within 2 points, else itself."""
    if not against:
        return 0.0
    near = [float(share) for share in chosen["merged"].unique() if joins(share, against)]
    return min(near, key=lambda share: (abs(share - against), share), default=against)


def _counts(chosen: pl.DataFrame) -> dict[str, int]:
    """Growers, series and runs of the component that may stand in a headline, any pour."""
    named = chosen.filter(pl.col("component").is_not_null())
    return {
        "members": named["member_code"].n_unique(),
        "series": named["series_code"].n_unique(),
        "runs": named.height,
    }


def _repeatability(
    chosen: pl.DataFrame, pour: int, settings: Settings
) -> tuple[Repeatability, Repeatability]:
    """Of fresh and of settled pots, all grades together; settled pots use the fresh figure where they have none."""
    pools = []
    for pour_no in (FRESH_POUR, pour):
        cells = cells_of(chosen.filter(pl.col("pour_no") == pour_no), settings.stopwatch_step_s)
        pools.append(
            pool_repeatability(
                cells.pots, cells.sum_squares, cells.share, cells.member, settings.repeatability_sd
            )
        )
    fresh, settled = pools
    if fresh.measured and not settled.measured:
        why = f"Taken from freshly filled pots. {fresh.why}"
        settled = Repeatability(
            fresh.sd,
            True,
            fresh.degrees,
            fresh.members,
            fresh.pooled,
            fresh.small,
            fresh.large,
            fresh.cochran,
            why,
        )
    return fresh, settled


def _states(
    chosen: pl.DataFrame,
    pour: int,
    repeat: tuple[Repeatability, Repeatability],
    settings: Settings,
    numbers: Numbers,
) -> States:
    answers, dry = [], []
    for pour_no, pool in zip((FRESH_POUR, pour), repeat, strict=True):
        poured = chosen.filter(pl.col("pour_no") == pour_no)
        cells = measured_from(cells_of(poured, settings.stopwatch_step_s), numbers.against)
        ties = ties_of(poured)
        plain = answer(cells, ties, pool, numbers)
        singles = single_runs(poured) if plain.stopped_runs_forbid_clears else None
        answers.append(plain if singles is None else answer_by_stopped_runs(plain, singles, ties, numbers))
        dry.append({share - numbers.against: count for share, count in ran_dry_counts(poured).items()})
    return States(answers[0], answers[1], dry[0], dry[1], pour)


def _value(states: States, subject: Subject, numbers: Numbers, grades: list[States]) -> dict[str, Any]:
    fresh = _after_grades(states.fresh.advice, [grade.fresh for grade in grades], numbers)
    settled = _after_grades(states.settled.advice, [grade.settled for grade in grades], numbers)
    both = larger_of(fresh, settled, states.fresh.run, states.settled.run)
    if both.verdict == ENOUGH:
        both = _after_grades(both, [grade.fresh for grade in grades], numbers)
        if settled.verdict == ENOUGH:
            both = _after_grades(both, [grade.settled for grade in grades], numbers)
    of_settled = Subject(subject.component, subject.grade, subject.base, "settled")
    decided = both is settled or (settled.verdict == ENOUGH and both.share == settled.share)
    given, about = (states.settled, of_settled) if decided else (states.fresh, subject)
    text = recommendation_text(both, given, about, numbers, _settled_sentence(both, fresh, settled, states))
    if numbers.against:
        both = settled = Advice(NOT_REACHED, None, None)
        text = f"Set beside {numbers.against:g} %; a share is advised beside straight base only."
    return {
        "shares": shares_value(states.fresh, states.fresh_dry, numbers.against),
        "heterogeneity": heterogeneity_value(states.fresh),
        "repeatability": repeatability_value(states.fresh),
        "recommendation": _advice_value(both, text),
        "scope": states.fresh.scope,
        "refits": refits_value(states.fresh),
        "settled": {
            "pour": states.settled_pour,
            "shares": shares_value(states.settled, states.settled_dry, numbers.against),
            "heterogeneity": heterogeneity_value(states.settled),
            "repeatability": repeatability_value(states.settled),
            "refits": refits_value(states.settled),
            "recommendation": _advice_value(
                settled,
                text
                if numbers.against
                else recommendation_text(settled, states.settled, of_settled, numbers, ""),
            ),
        },
    }


def _after_grades(advice: Advice, grades: list[Answer], numbers: Numbers) -> Advice:
    """`grades_differ` where a grade with 5 growers at the advised share falls short of the assurance by over 0.10."""
    if advice.verdict != ENOUGH or advice.share is None:
        return advice
    for grade in grades:
        measured = p_clears_at(grade, advice.share)
        if (
            measured is not None
            and measured[0] >= 5
            and not measured[1] >= numbers.assurance - GRADE_MAY_FALL_SHORT_BY
        ):
            return Advice(GRADES_DIFFER, None, None)
    return advice


def _settled_sentence(both: Advice, fresh: Advice, settled: Advice, states: States) -> str:
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


def _advice_value(advice: Advice, text: str) -> dict[str, Any]:
    value: dict[str, Any] = {
        "share": advice.share,
        "parts": advice.parts,
        "verdict": advice.verdict,
        "text": text,
    }
    if advice.verdict != ENOUGH:
        value["why"] = text
    elif advice.parts is None:
        value["why"] = "No ratio of whole parts up to 5 comes near enough to this share."
    return value


def _bases(
    runs: pl.DataFrame, component: str, settings: Settings, against: float, behind: bool
) -> dict[str, Any]:
    """Other bases: counts, and the whole block where 5 members or more allow."""
    in_other_bases = runs.filter((pl.col("component") == component) & (pl.col("base") != MAIN_BASE))
    result: dict[str, Any] = {}
    for base in sorted(in_other_bases["base"].unique()):
        of_base = in_other_bases.filter(pl.col("base") == base)
        members = of_base["member_code"].n_unique()
        if members >= MEMBERS_FOR_A_BASE:
            result[base] = base_block(runs, component, base, settings, against, behind).value
        else:
            result[base] = {
                "counts": {
                    "members": members,
                    "series": of_base["series_code"].n_unique(),
                    "runs": of_base.height,
                },
                "shares": [],
                "recommendation": {
                    "share": None,
                    "parts": None,
                    "verdict": TOO_FEW,
                    "text": _few(component, base, members),
                    "why": _few(component, base, members),
                },
                "why": _few(component, base, members),
            }
    return result


def _few(component: str, base: str, members: int) -> str:
    growers = "1 grower has" if members == 1 else f"{members} growers have"
    tested = f"{component_words(component, None)} in {base.replace('_', ' ')}"
    return f"{growers} tested {tested}; {MEMBERS_FOR_A_BASE} are needed before it is compared."

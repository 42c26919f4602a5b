"""One component's block of `results.json`: fresh and settled pots, every grade, every base."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from pipeline.compare.contrasts.selection import of_component, settled_pour
from pipeline.compare.values.advised import advice_value, advised
from pipeline.compare.values.details import details_value
from pipeline.compare.values.looks import Behind
from pipeline.compare.values.share_values import (
    heterogeneity_value,
    refits_value,
    repeatability_value,
    shares_value,
)
from pipeline.compare.values.states import States, repeatability_of, states_of
from pipeline.compare.verdict.answer import Answer, Numbers
from pipeline.compare.verdict.recommendation import Subject
from pipeline.compare.verdict.verdicts import Advice
from pipeline.compare.wording import component_words
from pipeline.settings import Settings
from schemas.results.component import (
    AnswerValue,
    BaseValue,
    ComponentValue,
    CountsValue,
    FewInBase,
    RecommendationValue,
    StateValue,
)
from schemas.results.details import DetailsValue
from schemas.trade.headline import MAIN_BASE
from schemas.trade.shares import joins
from schemas.trade.verdicts import TOO_FEW

GRADES = ("fine", "medium", "coarse")
MEMBERS_FOR_A_BASE = 5


@dataclass(frozen=True)
class BaseBlock:
    """A component in one base: its value for `results.json` and the answers behind it."""

    value: BaseValue
    states: States
    chosen: pl.DataFrame


@dataclass(frozen=True)
class ComponentBlock:
    """A component in all bases: its value for `results.json`, and the answers of the main base behind it."""

    value: ComponentValue
    states: States
    chosen: pl.DataFrame


def component_block(
    runs: pl.DataFrame, component: str, settings: Settings, against: float = 0.0, behind: bool = True
) -> ComponentBlock:
    """The component in sphagnum peat, with its grades and the other bases, beside straight base or `against`."""
    main = base_block(runs, component, MAIN_BASE, settings, against, behind)
    bases = _bases(runs, component, settings, against, behind)
    return ComponentBlock({**main.value, "bases": bases}, main.states, main.chosen)


def base_block(
    runs: pl.DataFrame, component: str, base: str, settings: Settings, against: float, behind: bool = True
) -> BaseBlock:
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
    repeat = repeatability_of(chosen, pour, settings)
    pooled = states_of(chosen, pour, repeat, settings, numbers)
    grades = {
        grade: states_of(chosen.filter(pl.col("component_grade") == grade), pour, repeat, settings, numbers)
        for grade in GRADES
    }
    overall = _answer_value(pooled, Subject(component, None, base, "fresh"), numbers, list(grades.values()))
    details: DetailsValue = {}
    if behind and not against:
        share = overall["recommendation"]["share"]
        details = details_value(Behind(every, chosen, pooled.fresh, pour), numbers, settings, share)
    value: BaseValue = {
        **overall,
        **details,
        "grades": {
            grade: _answer_value(states, Subject(component, grade, base, "fresh"), numbers, [])
            for grade, states in grades.items()
        },
        "counts": _counts(chosen.filter(pl.col("component").is_not_null())),
    }
    return BaseBlock(value, pooled, chosen)


def _counted_share(chosen: pl.DataFrame, against: float) -> float:
    """The share that a wanted one counts as: the nearest within 2 points, else itself."""
    if not against:
        return 0.0
    near = [float(share) for share in chosen["merged"].unique() if joins(share, against)]
    return min(near, key=lambda share: (abs(share - against), share), default=against)


def _counts(runs: pl.DataFrame) -> CountsValue:
    """Growers, series and runs of these runs."""
    return {
        "members": runs["member_code"].n_unique(),
        "series": runs["series_code"].n_unique(),
        "runs": runs.height,
    }


def _answer_value(states: States, subject: Subject, numbers: Numbers, grades: list[States]) -> AnswerValue:
    """Fresh pots with their recommendation, and settled ones inside."""
    advice = advised(states, subject, numbers, grades)
    fresh = _state_value(states.fresh, states.fresh_dry, numbers.against, advice.both)
    settled = _state_value(states.settled, states.settled_dry, numbers.against, advice.settled)
    return {**fresh, "scope": states.fresh.scope, "settled": {**settled, "pour": states.settled_pour}}


def _state_value(
    given: Answer, ran_dry: dict[float, int], against: float, recommendation: RecommendationValue
) -> StateValue:
    return {
        "shares": shares_value(given, ran_dry, against),
        "heterogeneity": heterogeneity_value(given),
        "repeatability": repeatability_value(given),
        "refits": refits_value(given),
        "recommendation": recommendation,
    }


def _bases(
    runs: pl.DataFrame, component: str, settings: Settings, against: float, behind: bool
) -> dict[str, BaseValue | FewInBase]:
    """Other bases: counts, and the whole block where 5 members or more allow."""
    in_other_bases = runs.filter((pl.col("component") == component) & (pl.col("base") != MAIN_BASE))
    values: dict[str, BaseValue | FewInBase] = {}
    for base in sorted(in_other_bases["base"].unique()):
        counts = _counts(in_other_bases.filter(pl.col("base") == base))
        if counts["members"] >= MEMBERS_FOR_A_BASE:
            values[base] = base_block(runs, component, base, settings, against, behind).value
        else:
            values[base] = _few_in_base(component, base, counts)
    return values


def _few_in_base(component: str, base: str, counts: CountsValue) -> FewInBase:
    members = counts["members"]
    growers = "1 grower has" if members == 1 else f"{members} growers have"
    tested = f"{component_words(component, None)} in {base.replace('_', ' ')}"
    why = f"{growers} tested {tested}; {MEMBERS_FOR_A_BASE} are needed before it is compared."
    return {
        "counts": counts,
        "shares": [],
        "recommendation": advice_value(Advice(TOO_FEW, None, None), why, None, "fresh"),
        "why": why,
    }

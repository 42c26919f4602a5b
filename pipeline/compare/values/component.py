"""One component's block of `results.json`: fresh and settled pots, every grade, every base."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.compare.contrasts.selection import of_component, settled_pour
from pipeline.compare.values.advised import advice_value, advised
from pipeline.compare.values.details import details_value
from pipeline.compare.values.looks import Behind
from pipeline.compare.values.part_values import Beside, part_value
from pipeline.compare.values.parts import PartStates, part_states, parts_by_column
from pipeline.compare.values.share_values import (
    heterogeneity_value,
    refits_value,
    repeatability_value,
    shares_value,
)
from pipeline.compare.values.states import States, repeatability_of, states_of
from pipeline.compare.verdict.answer import Answer, Numbers
from pipeline.compare.verdict.part_text import PartSubject
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
    PartAnswerValue,
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
    """A component in one base: its value for `results.json` and the answers and advice behind it."""

    value: BaseValue
    states: States
    chosen: pl.DataFrame
    advice: Advice
    numbers: Numbers


@dataclass(frozen=True)
class ComponentBlock:
    """A component in all bases: its value for `results.json`, the block of the main base behind it, and those of other
    bases that enough growers tested."""

    value: ComponentValue
    main: BaseBlock
    others: dict[str, BaseBlock]


def component_block(
    runs: pl.DataFrame, component: str, settings: Settings, against: float = 0.0, behind: bool = True
) -> ComponentBlock:
    """The component in sphagnum peat, with its grades and the other bases, beside straight base or `against`."""
    main = base_block(runs, component, MAIN_BASE, settings, against, behind)
    bases, others = _bases(runs, component, settings, against, behind)
    return ComponentBlock({**main.value, "bases": bases, "waits": 0}, main, others)


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
    parts = part_states(pooled, parts_by_column(chosen, "component_grade", GRADES), len(GRADES), numbers)
    overall, advice = _answer_value(pooled, Subject(component, None, base, "fresh"), numbers, parts)
    grades: dict[str, PartAnswerValue] = {}
    for grade, part in zip(GRADES, parts, strict=True):
        of_grade = chosen.filter(pl.col("component_grade") == grade)
        alone = states_of(of_grade, pour, repeat, settings, numbers)
        value, own = _answer_value(alone, Subject(component, grade, base, "fresh"), numbers, [])
        mix = component_words(component, grade) + _in_base(base)
        beside = Beside(pooled, advice, alone, value, own)
        grades[grade] = part_value(part, beside, PartSubject("grade", mix), numbers)
    details: DetailsValue = {}
    if behind and not against:
        share = overall["recommendation"]["share"]
        details = details_value(
            Behind(every, chosen, pooled.fresh, pooled.settled, pour), numbers, settings, share
        )
    counts = _counts(chosen.filter(pl.col("component").is_not_null()))
    value_of_base: BaseValue = {**overall, **details, "grades": grades, "counts": counts}
    return BaseBlock(value_of_base, pooled, chosen, advice, numbers)


def _in_base(base: str) -> str:
    """The base in words, where it is not the main one."""
    return "" if base == MAIN_BASE else f" in {base.replace('_', ' ')}"


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


def _answer_value(
    states: States, subject: Subject, numbers: Numbers, grades: Sequence[PartStates]
) -> tuple[AnswerValue, Advice]:
    """Fresh pots with their recommendation, settled ones inside, and what is advised over both."""
    advice = advised(states, subject, numbers, grades)
    fresh = _state_value(states.fresh, states.fresh_dry, numbers.against, advice.both)
    settled = _state_value(states.settled, states.settled_dry, numbers.against, advice.settled)
    value: AnswerValue = {
        **fresh,
        "scope": states.fresh.scope,
        "settled": {**settled, "pour": states.settled_pour},
    }
    return value, advice.advice


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
) -> tuple[dict[str, BaseValue | FewInBase], dict[str, BaseBlock]]:
    """Other bases: counts, and the whole block where 5 members or more allow; these blocks again."""
    in_other_bases = runs.filter((pl.col("component") == component) & (pl.col("base") != MAIN_BASE))
    values: dict[str, BaseValue | FewInBase] = {}
    blocks: dict[str, BaseBlock] = {}
    for base in sorted(in_other_bases["base"].unique()):
        counts = _counts(in_other_bases.filter(pl.col("base") == base))
        if counts["members"] >= MEMBERS_FOR_A_BASE:
            blocks[base] = base_block(runs, component, base, settings, against, behind)
            values[base] = blocks[base].value
        else:
            values[base] = _few_in_base(component, base, counts)
    return values, blocks


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

"""Named parts of the pool as answers: each by itself, and as it borrows from the whole, base by base."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.compare.values.component import BaseBlock, ComponentBlock, component_block
from pipeline.compare.values.part_values import Beside, part_value
from pipeline.compare.values.parts import PartStates, part_states, parts_by_column
from pipeline.compare.verdict.part_text import PartSubject
from pipeline.compare.wording import component_words
from pipeline.settings import Settings
from schemas.results.component import AnswerValue, BaseValue, FewInBase, PartBaseValue, PartComponentValue
from schemas.trade.headline import MAIN_BASE


@dataclass(frozen=True)
class PartsAsked:
    """A split of the pool. kind: `grade`, `climate`, `pot`, `setup`, or `part` for one part and the rest; column: of the
    runs, naming each one's part; names: the parts wanted; words: how each is spoken of behind the component, such as
    `in Cfb` (for grades: the grade itself, before it)."""

    kind: str
    column: str
    names: tuple[str, ...]
    words: tuple[str, ...]

    def mix(self, component: str, base: str, place: int) -> str:
        """A part in words: `fine perlite`, `perlite in Cfb`, `perlite in coir in Cfb`."""
        in_base = "" if base == MAIN_BASE else f" in {base.replace('_', ' ')}"
        if self.kind == "grade":
            return component_words(component, self.words[place]) + in_base
        return f"{component_words(component, None)}{in_base} {self.words[place]}"


def component_parts(
    coded: pl.DataFrame,
    whole: ComponentBlock,
    component: str,
    split: PartsAsked,
    settings: Settings,
    against: float,
) -> dict[str, PartComponentValue]:
    """One component's parts, by name; those that no run of it belongs to are left out. `coded`: all runs, with codes."""
    main = _borrowed(whole.main, split)
    others = {base: _borrowed(block, split) for base, block in whole.others.items()}
    values: dict[str, PartComponentValue] = {}
    for place, name in enumerate(split.names):
        rows = coded.filter(pl.col(split.column) == name)
        if not rows["component"].eq(component).any():
            continue
        alone = component_block(rows, component, settings, against, behind=False)
        bases: dict[str, BaseValue | FewInBase] = dict(alone.value["bases"])
        for base, block in alone.others.items():
            if base in others:
                subject = PartSubject(split.kind, split.mix(component, base, place))
                bases[base] = _part(whole.others[base], block, others[base][place], subject)
        subject = PartSubject(split.kind, split.mix(component, MAIN_BASE, place))
        values[name] = {**_part(whole.main, alone.main, main[place], subject), "bases": bases, "waits": 0}
    return values


def _borrowed(block: BaseBlock, split: PartsAsked) -> Sequence[PartStates]:
    part_of = parts_by_column(block.chosen, split.column, split.names)
    return part_states(block.states, part_of, len(split.names), block.numbers)


def _part(whole: BaseBlock, alone: BaseBlock, part: PartStates, subject: PartSubject) -> PartBaseValue:
    beside = Beside(whole.states, whole.advice, alone.states, alone.value, alone.advice)
    value = part_value(part, beside, subject, whole.numbers)
    return {**alone.value, **value, "alone": _answer_only(alone.value)}


def _answer_only(value: BaseValue) -> AnswerValue:
    """What a part says by itself, without its own grades."""
    return {
        "shares": value["shares"],
        "heterogeneity": value["heterogeneity"],
        "repeatability": value["repeatability"],
        "refits": value["refits"],
        "recommendation": value["recommendation"],
        "scope": value["scope"],
        "settled": value["settled"],
    }

"""The comparison, in order: choose the runs, make contrasts, fit, predict, judge, advise. Frames in, values out.

Read this room first; below it lie array rooms that know no frames.
"""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from pipeline.compare.contrasts.selection import with_codes
from pipeline.compare.questions.frame import QUESTION_COLUMNS, questions_frame
from pipeline.compare.splits.by_level import levels_value, part_lines
from pipeline.compare.values.asked_parts import PartsAsked, component_parts
from pipeline.compare.values.component import component_block
from pipeline.compare.values.frames import EFFECT_COLUMNS, MEMBER_COLUMNS, effects_frame, members_frame
from pipeline.settings import Settings
from schemas.results.component import ComponentValue, PartComponentValue
from schemas.results.lines import LevelLine, PartLine
from schemas.trade.verdicts import ANY_GROWER, THESE_CLUBS


@dataclass(frozen=True)
class Comparison:
    """components: value of "components" in `results.json`, unrounded; effects, members: frames for the pictures;
    scope: whom the answers are for, the narrowest of all components; questions: what the coordinator may want to ask
    members about, private."""

    components: dict[str, ComponentValue]
    effects: pl.DataFrame
    members: pl.DataFrame
    scope: str
    questions: pl.DataFrame


def compare_runs(
    runs: pl.DataFrame, settings: Settings, against: float = 0.0, behind: bool = True
) -> Comparison:
    """Pools the runs of every component, beside straight base or, with `against`, beside that share (percent).

    `runs` is the canonical run frame with rates from the normalise stage. Without `behind` the answer is the same, but
    what stands behind it (robustness, contrasts, bend …) is left out; a quick question asks so.
    """
    coded = with_codes(runs)
    names = sorted(coded["component"].drop_nulls().unique().to_list())
    components: dict[str, ComponentValue] = {}
    effects = [pl.DataFrame(schema=EFFECT_COLUMNS)]
    members = [pl.DataFrame(schema=MEMBER_COLUMNS)]
    questions = [pl.DataFrame(schema=QUESTION_COLUMNS)]
    scopes = []
    for name in names:
        block = component_block(coded, name, settings, against, behind)
        components[name] = block.value
        states, chosen = block.main.states, block.main.chosen
        questions.append(questions_frame(states.fresh, chosen, name))
        for state, given in (("fresh", states.fresh), ("settled", states.settled)):
            effects.append(effects_frame(given, chosen, name, state))
            members.append(members_frame(given, chosen, name, state))
            if given.fitted is not None:
                scopes.append(given.scope)
    scope = THESE_CLUBS if THESE_CLUBS in scopes else ANY_GROWER
    return Comparison(components, pl.concat(effects), pl.concat(members), scope, pl.concat(questions))


def compare_parts(
    runs: pl.DataFrame, split: PartsAsked, settings: Settings, against: float = 0.0
) -> dict[str, dict[str, PartComponentValue]]:
    """Parts of the pool, each borrowing from the whole: per name in `split.names` and component, the part's answer with
    `difference`, `share`, `verdict` and `alone` (methods note, section 14).

    `runs` are the whole pool's, with the column `split.column` that names the part of each run, null for none."""
    coded = with_codes(runs)
    answers: dict[str, dict[str, PartComponentValue]] = {name: {} for name in split.names}
    for component in sorted(coded["component"].drop_nulls().unique().to_list()):
        whole = component_block(coded, component, settings, against, behind=False)
        for name, value in component_parts(coded, whole, component, split, settings, against).items():
            answers[name][component] = value
    return answers


def compare_levels(runs: pl.DataFrame, column: str, settings: Settings) -> dict[str, list[LevelLine]]:
    """Per component in sphagnum peat: ratio of ratios between the levels of a column (query --by), fresh pots.

    Each level stands beside the one that most growers measured; exploratory, so without any p-value.
    """
    coded = with_codes(runs)
    names = sorted(coded["component"].drop_nulls().unique().to_list())
    return {name: levels_value(coded, name, column, settings) for name in names}


def compare_part(runs: pl.DataFrame, component: str, settings: Settings) -> list[PartLine]:
    """Pooled ratios of one part of the pool, fresh pots in sphagnum peat: share, ratio, low, high (95 %), growers.

    Description for the pages that look at parts side by side; nothing is decided on it."""
    return part_lines(with_codes(runs), component, settings)

"""The comparison, in order: choose the runs, make contrasts, fit, predict, judge, advise. Frames in, values out.

Read this room first; below it lie array rooms that know no frames.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.compare.component import component_block
from pipeline.compare.frames import EFFECT_COLUMNS, MEMBER_COLUMNS, effects_frame, members_frame
from pipeline.compare.independence import ANY_GROWER, THESE_CLUBS
from pipeline.compare.selection import with_codes
from pipeline.settings import Settings


@dataclass(frozen=True)
class Comparison:
    """components: value of "components" in `results.json`, unrounded; effects, members: frames for the pictures;
    scope: whom the answers are for, the narrowest of all components."""

    components: dict[str, Any]
    effects: pl.DataFrame
    members: pl.DataFrame
    scope: str


def compare_runs(runs: pl.DataFrame, settings: Settings) -> Comparison:
    """Pools the runs of every component. `runs` is the canonical run frame with rates from the normalise stage."""
    coded = with_codes(runs)
    names = sorted(coded["component"].drop_nulls().unique().to_list())
    components: dict[str, Any] = {}
    effects = [pl.DataFrame(schema=EFFECT_COLUMNS)]
    members = [pl.DataFrame(schema=MEMBER_COLUMNS)]
    scopes = []
    for name in names:
        block = component_block(coded, name, settings)
        components[name] = block.value
        for state, given in (("fresh", block.states.fresh), ("settled", block.states.settled)):
            effects.append(effects_frame(given, block.runs, name, state))
            members.append(members_frame(given, block.runs, name, state))
            if given.fitted is not None:
                scopes.append(given.scope)
    scope = THESE_CLUBS if THESE_CLUBS in scopes else ANY_GROWER
    return Comparison(components, pl.concat(effects), pl.concat(members), scope)

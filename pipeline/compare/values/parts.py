"""Parts of the pool over both pour states: which series belong to which, and what is advised for each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.compare.arrays import Whole
from pipeline.compare.model.prediction import NEEDED_FOR_MEAN
from pipeline.compare.values.states import States
from pipeline.compare.verdict.answer import Answer, Numbers
from pipeline.compare.verdict.borrowed import BorrowedPart, borrowed_parts
from pipeline.compare.verdict.verdicts import Advice, larger_of
from schemas.trade.verdicts import ENOUGH, NOT_REACHED, TOO_FEW


@dataclass(frozen=True)
class PartStates:
    """One part in both pour states; None where the whole pool has no model there."""

    fresh: BorrowedPart | None
    settled: BorrowedPart | None

    @property
    def both(self) -> Advice:
        """What is advised for fresh and settled pots together."""
        few = Advice(TOO_FEW, None, None)
        if self.fresh is None or self.fresh.members < NEEDED_FOR_MEAN:
            return few
        if self.settled is None or self.settled.members < NEEDED_FOR_MEAN:
            return self.fresh.advice
        return larger_of(self.fresh.advice, self.settled.advice, self.fresh.run, self.settled.run)


def part_states(
    whole: States, part_of_series: Mapping[int, int], count: int, numbers: Numbers
) -> list[PartStates]:
    """The parts 0 … count - 1, by the part of each series code."""
    fresh, settled = (
        _parts_of(given, part_of_series, count, numbers) for given in (whole.fresh, whole.settled)
    )
    return [PartStates(fresh[part], settled[part]) for part in range(count)]


def _parts_of(
    given: Answer, part_of_series: Mapping[int, int], count: int, numbers: Numbers
) -> Sequence[BorrowedPart | None]:
    level: Whole = np.array(
        [part_of_series.get(int(code), -1) for code in given.effects.series], dtype=np.int64
    )
    return borrowed_parts(given, level, count, numbers) or [None] * count


def parts_by_column(runs: pl.DataFrame, column: str, names: Sequence[str]) -> dict[int, int]:
    """The part of each series code: the place in `names` of the first level that its runs name; others are left out."""
    level_of = runs.group_by("series_code").agg(
        pl.col(column).cast(pl.String).drop_nulls().first().alias("level")
    )
    places = {name: place for place, name in enumerate(names)}
    return {int(code): places[level] for code, level in level_of.drop_nulls().iter_rows() if level in places}


def differing(parts: Sequence[BorrowedPart | None]) -> bool:
    """Whether a difference between parts is shown and their own answers are not the same share."""
    known = [part for part in parts if part is not None and part.members >= NEEDED_FOR_MEAN]
    answers = {part.advice.share for part in known if part.advice.verdict in (ENOUGH, NOT_REACHED)}
    return any(part.shown for part in known) and len(answers) > 1

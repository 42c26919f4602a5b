"""Runs that lie 8 times or more from what their own series gives, and the exact slip that would make them ordinary.

Rule: the project's contract, section 1 ("Waiting"). What a series gives is the middle of its other runs of the same
mix, or of all its others through the pool's ratios between mixes (`schemas.trade.waiting.pool_ratios`). A stopped clock is slow by its own word and is not asked about.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from itertools import combinations
from statistics import median

import polars as pl

from schemas.trade.shares import ROUNDING, SAME_WITHIN
from schemas.trade.slips import EXACT_SLIPS, Slip, nearest_slip
from schemas.trade.waiting.pool_ratios import timed_runs, with_levels

FAR = math.log(8.0)
ORDINARY = math.log(2.5)
"""How far from the middle a run still is ordinary: pots and mixes scatter so much."""
WORTH_A_LOOK = math.log(4.0)
CLOSE_BY = math.log(1.4)
FEWEST_FELLOWS = 2
"""Other runs of a series that say something where the pool has no ratio between its mixes."""
FEWEST_FOR_SLOPE = 5
CLEAR_MAJORITY = 2
USUAL_SPEED = math.log(math.sqrt(1e-4 * 0.7))
"""The middle of the usual band of front speeds, cm/s, on the ln scale (reasoned: `schemas.settings`)."""
COLLECTED_EXPLAINS = math.log(1.6)

FAR_OFF = {
    "row": pl.Int64,
    "times": pl.Float64,
    "too_fast": pl.Boolean,
    "factor": pl.Float64,
    "column": pl.String,
    "usual": pl.Float64,
}
"""row: position in the frame; times: how far off; factor: of the exact slip, null where none makes the run ordinary;
column: `collected` where that volume is what differs, else `drain_time`; usual: what its series gives there, ml or s."""


@dataclass(frozen=True)
class _Run:
    """One run of a series that reached its volume, as `with_levels` gives it."""

    row: int
    state: str
    share: float
    speed: float
    ratio: float | None
    level: float
    usual: float | None
    collected_ml: float
    drain_time_s: float

    def same_mix(self, other: _Run) -> bool:
        """Whether the other run is of the same mix in the same state."""
        return self.state == other.state and abs(self.share - other.share) <= SAME_WITHIN + ROUNDING


def far_off(runs: pl.DataFrame, apart: Sequence[str] = ()) -> pl.DataFrame:
    """The runs (`FAR_OFF`) that lie far from their own series; never their ordinary fellows.

    runs: canonical columns. apart: columns whose values never meet, such as the file of a sheet checked alone."""
    timed = timed_runs(runs, apart)
    if timed.is_empty():
        return pl.DataFrame(schema=FAR_OFF)
    levelled = with_levels(timed)
    middle = pl.col("level").median().over("series")
    looked_at = levelled.filter(
        ((pl.col("level") - middle).abs() >= WORTH_A_LOOK).fill_null(False).any().over("series")
    )
    names = [field.name for field in fields(_Run)]
    found = [
        values
        for _, rows in looked_at.group_by("series", maintain_order=True)
        for values in _in_series([_Run(**row) for row in rows.select(names).iter_rows(named=True)])
    ]
    return pl.DataFrame(found, schema=FAR_OFF, orient="row").sort("row")


def _in_series(runs: Sequence[_Run]) -> Iterator[tuple[int, float, bool, float | None, str, float]]:
    """The values of `FAR_OFF` for each run of one series that lies far off."""
    by_row = {run.row: run for run in runs}
    for row, distance in _distances(runs).items():
        run = by_row[row]
        slip = _likeliest(distance)
        others = [other.collected_ml for other in runs if other.row != row]
        gap = math.log(run.collected_ml / median(others))
        of_volume = abs(gap - distance) <= COLLECTED_EXPLAINS
        yield (
            row,
            math.exp(abs(distance)),
            distance > 0,
            None if slip is None else slip.factor,
            "collected" if of_volume else "drain_time",
            run.collected_ml / math.exp(distance) if of_volume else run.drain_time_s * math.exp(distance),
        )


def _distances(runs: Sequence[_Run]) -> dict[int, float]:
    """By row the distance (ln, above 0 too fast) of each run that is the odd one and lies far off."""
    known = all(run.ratio is not None for run in runs)
    slope = 0.0 if known else _slope(runs)
    level = {run.row: run.level if known else run.speed - slope * run.share for run in runs}
    distances: dict[int, float] = {}
    for run in runs:
        fellows = [other for other in runs if other.row != run.row]
        same = [other for other in fellows if run.same_mix(other)]
        if len(fellows) < (1 if known else FEWEST_FELLOWS):
            continue
        beside = same if _agree(same, fellows, level) else fellows
        distance = level[run.row] - median(level[other.row] for other in beside)
        if abs(distance) < FAR:
            continue
        near = [other for other in fellows if abs(level[other.row] - level[run.row]) <= ORDINARY]
        rest = [other for other in fellows if other not in near]
        middle = median(level[other.row] for other in (run, *near))
        if _is_odd(len(near) + 1, middle, [level[other.row] for other in rest], run.usual):
            distances[run.row] = distance
        else:
            far = {other.row: level[other.row] - middle for other in rest}
            distances |= {row: gap for row, gap in far.items() if abs(gap) >= FAR}
    return dict(sorted(distances.items()))


def _agree(same: Sequence[_Run], fellows: Sequence[_Run], level: Mapping[int, float]) -> bool:
    """Whether the runs of the same mix can be gone by: two of them, or one that is ordinary among its fellows."""
    if len(same) != 1:
        return bool(same)
    return abs(level[same[0].row] - median(level[run.row] for run in fellows)) <= ORDINARY


def _likeliest(distance: float) -> Slip | None:
    """The likeliest exact slip close by, else the nearest that leaves the run ordinary; None where none does."""
    close = [slip for slip in EXACT_SLIPS if abs(abs(distance) - math.log(slip.factor)) <= CLOSE_BY]
    return close[0] if close else nearest_slip(distance, ORDINARY, EXACT_SLIPS)


def _is_odd(count: int, middle: float, rest: Sequence[float], usual: float | None) -> bool:
    """Whether the side of so many runs with this middle is the odd one, and not the rest: the far smaller one, else the
    one further from what is usual in the pool, or in the trade."""
    if len(rest) >= CLEAR_MAJORITY * count or count >= CLEAR_MAJORITY * len(rest):
        return count < len(rest)
    beside = USUAL_SPEED if usual is None else usual
    return abs(middle - beside) > abs(median(rest) - beside)


def _slope(runs: Sequence[_Run]) -> float:
    """The middle slope of ln speed over the share between any two runs of a series (Theil 1950, from memory); 0 from few."""
    slopes = [
        (second.speed - first.speed) / (second.share - first.share)
        for first, second in combinations(runs, 2)
        if abs(second.share - first.share) > SAME_WITHIN + ROUNDING
    ]
    return median(slopes) if slopes and len(runs) >= FEWEST_FOR_SLOPE else 0.0

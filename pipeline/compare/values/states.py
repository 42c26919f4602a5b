"""Fresh and settled pots of one subset of runs: cells, repeatability, and the answer of each."""

from __future__ import annotations

from dataclasses import dataclass, replace

import polars as pl

from pipeline.compare.contrasts.cells import measured_from
from pipeline.compare.contrasts.repeatability import Repeatability, pool_repeatability
from pipeline.compare.contrasts.selection import cells_of, ran_dry_counts, single_runs, ties_of
from pipeline.compare.stopped.answer import answer_by_stopped_runs
from pipeline.compare.verdict.answer import Answer, Numbers, answer
from pipeline.settings import Settings
from schemas.trade.headline import FRESH_POUR


@dataclass(frozen=True)
class States:
    """Fresh and settled answers of one subset, with the runs that ended dry in each."""

    fresh: Answer
    settled: Answer
    fresh_dry: dict[float, int]
    settled_dry: dict[float, int]
    settled_pour: int


def repeatability_of(
    chosen: pl.DataFrame, pour: int, settings: Settings
) -> tuple[Repeatability, Repeatability]:
    """Of fresh and of settled pots, all grades together; settled pots use the fresh figure where they have none."""
    fresh, settled = (
        _pooled(chosen.filter(pl.col("pour_no") == pour_no), settings) for pour_no in (FRESH_POUR, pour)
    )
    if fresh.measured and not settled.measured:
        settled = replace(fresh, why=f"Taken from freshly filled pots. {fresh.why}")
    return fresh, settled


def _pooled(poured: pl.DataFrame, settings: Settings) -> Repeatability:
    cells = cells_of(poured, settings.stopwatch_step_s)
    return pool_repeatability(
        cells.pots, cells.sum_squares, cells.share, cells.member, settings.repeatability_sd
    )


def states_of(
    chosen: pl.DataFrame,
    pour: int,
    repeat: tuple[Repeatability, Repeatability],
    settings: Settings,
    numbers: Numbers,
) -> States:
    """The answers of these headline runs, fresh pots and those of the settled pour."""
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

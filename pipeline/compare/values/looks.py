"""Other choices of runs to look at: settled pots, loose shares, the commonest setup, without growers far off."""

from __future__ import annotations

from dataclasses import dataclass, replace

import polars as pl

from pipeline.compare.behind.consistency import ACTION, member_z
from pipeline.compare.behind.robustness import Other
from pipeline.compare.contrasts.cells import Cells
from pipeline.compare.contrasts.selection import cells_of, single_runs, ties_of
from pipeline.compare.stopped.answer import answer_by_stopped_runs
from pipeline.compare.verdict.answer import Answer, Numbers
from pipeline.settings import Settings


@dataclass(frozen=True)
class Behind:
    """What the details are made from: all runs of the component, the fresh headline's, its answer, the settled pots'
    answer and their pour."""

    every: pl.DataFrame
    chosen: pl.DataFrame
    fresh: Answer
    settled: Answer
    pour: int


def with_stopped_runs(fresh: Answer, poured: pl.DataFrame, numbers: Numbers) -> Answer | None:
    """The answer with stopped runs taken in as bounds, where there are some but too few to decide."""
    if (
        fresh.stopped_runs_forbid_clears
        or fresh.by_censored
        or fresh.fitted is None
        or not fresh.cells.stopped.any()
    ):
        return None
    taken = answer_by_stopped_runs(
        replace(fresh, stopped_runs_forbid_clears=True), single_runs(poured), ties_of(poured), numbers
    )
    return taken if taken.by_censored else None


def other_looks(behind: Behind, poured: pl.DataFrame, settings: Settings) -> list[Other]:
    """Other choices of runs for the robustness lines."""
    step = settings.stopwatch_step_s
    setups = (
        poured.group_by("setup_type")
        .agg(pl.col("series_code").n_unique().alias("n"))
        .sort("n", "setup_type", descending=[True, False])
    )
    commonest = setups["setup_type"][0] if setups.height else ""
    cells = behind.fresh.cells
    looks = [
        ("repeated_only", "only mixes filled into two pots or more", cells.chosen(cells.pots > 1), poured),
        _look("settled", "settled pots", behind.chosen.filter(pl.col("pour_no") == behind.pour), step),
        _look(
            "loose_only", "only shares measured loose", poured.filter(pl.col("measured_by") == "loose"), step
        ),
        _look(
            "commonest_setup",
            f"only pots held {'in another way' if commonest == 'other' else 'on a ' + commonest.replace('_', ' ')}",
            poured.filter(pl.col("setup_type") == commonest),
            step,
        ),
    ]
    if behind.fresh.fitted is not None:
        far = [member for member, z in member_z(behind.fresh.fitted).items() if abs(z) > ACTION]
        if far:
            growers = "grower that looks" if len(far) == 1 else "growers that look"
            words = f"without the {len(far)} {growers} unlike the others"
            kept = poured.filter(~pl.col("member_code").is_in(far))
            looks.append(_look("without_far_off", words, kept, step))
    return [Other(check, words, chosen, ties_of(runs)) for check, words, chosen, runs in looks]


def _look(check: str, words: str, runs: pl.DataFrame, step: float) -> tuple[str, str, Cells, pl.DataFrame]:
    return check, words, cells_of(runs, step), runs

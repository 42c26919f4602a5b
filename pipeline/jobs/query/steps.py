"""A question to the pool: the pooled comparison for one part of it, computed afresh from the readers' copy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.compare.steps import compare_levels, compare_runs
from pipeline.jobs.month.results_file import plain_value
from pipeline.jobs.query.for_everyone import components_for_everyone, runs_for_everyone
from pipeline.jobs.query.part import Part
from pipeline.jobs.receiving.checking import pool_settings
from pipeline.jobs.samples import any_invented
from pipeline.load.changes.editions import is_invented
from pipeline.load.database.newest import last_change
from pipeline.load.views.reading import runs_in_force
from pipeline.normalise.steps import add_rates
from pipeline.settings import Settings
from schemas.results.whole import QueryValue
from schemas.trade.moments import moment_text
from schemas.trade.pots import POT_LEVELS, pot_level
from schemas.trade.small_numbers import too_few_to_show
from schemas.vocabulary import CHOICES, CLIMATE_MAIN_GROUPS

BY: dict[str, tuple[str, tuple[str, ...]]] = {
    "climate": (
        "climate_zone",
        tuple(choice.value for choice in (*CHOICES["climate_zone"], *CLIMATE_MAIN_GROUPS)),
    ),
    "pot": ("pot_level", tuple(name for name, _ in POT_LEVELS)),
    "setup": ("setup_type", tuple(choice.value for choice in CHOICES["setup_type"])),
    "grade": ("component_grade", tuple(choice.value for choice in CHOICES["component_grade"])),
}
"""Option of `--by` -> the column that splits the runs, and its levels in order. A main group of climate has the places
that everyone may see by their main letter only."""
ORIGIN = ("submission", "sheet_row")


@dataclass(frozen=True)
class QueryResult:
    """The answer of `query`: `value` as its JSON says it, and how many members, series and runs stand
    behind it and behind each group. `for_everyone`: it keeps the rule of small numbers. `to_pass_on`: the same answer
    by that rule, for a passage in a mail; None where this is it."""

    value: Mapping[str, Any]
    counts: Mapping[str, int]
    group_counts: tuple[Mapping[str, int], ...]
    settings: Settings
    for_everyone: bool = False
    to_pass_on: QueryResult | None = None


def answer(pool: Path, part: Part, by: str | None, against: float = 0.0) -> QueryResult:
    """The comparison for that part in full, beside straight base or beside the share `against` (percent); and once more
    for each level of `by` that has runs, with the ratio of ratios between levels. Locks nothing."""
    in_force = runs_in_force(pool)
    chosen = part.of(in_force)
    full = _compared(pool, part, chosen, by, against)
    by_month = part.by_month()
    seen = by_month.of(runs_for_everyone(in_force))
    if seen.select(ORIGIN).equals(chosen.select(ORIGIN)):
        passed_on = replace(full, value={**full.value, "where": by_month.as_value()})
    else:
        passed_on = _compared(pool, by_month, seen, None, against)
    return replace(full, to_pass_on=_kept_small(passed_on))


def answer_for_everyone(pool: Path, part: Part, by: str | None) -> QueryResult:
    """The comparison for that part by the rule of small numbers: places and days as everyone may see them, no figure
    that rests on fewer than 3 growers. Locks nothing."""
    by_month = part.by_month()
    seen = by_month.of(runs_for_everyone(runs_in_force(pool)))
    return _kept_small(_compared(pool, by_month, seen, by, 0.0))


def _kept_small(result: QueryResult) -> QueryResult:
    """The same answer without figures of too few growers."""
    value = dict(result.value)
    value["components"] = _shown(value["components"], result.counts)
    value["groups"] = [
        {**group, "components": _shown(group["components"], counts)}
        for group, counts in zip(value["groups"], result.group_counts, strict=True)
    ]
    value.pop("between_levels", None)
    return replace(result, value=value, for_everyone=True)


def _shown(components: Mapping[str, Any], counts: Mapping[str, int]) -> Mapping[str, Any]:
    return {} if too_few_to_show(counts["members"]) else components_for_everyone(components)


def _compared(pool: Path, part: Part, chosen: pl.DataFrame, by: str | None, against: float) -> QueryResult:
    settings = pool_settings(pool)
    runs = add_rates(chosen)
    banded = with_pot_levels(runs)
    groups = split(banded, by) if by else []
    value: QueryValue = {
        "as_of": moment_text(last_change(pool)),
        "invented": is_invented(pool) or any_invented(runs["submission"]),
        "where": part.as_value(),
        "components": compare_runs(runs, settings, against, behind=False).components,
        "groups": [
            {
                "by": by or "",
                "level": level,
                "components": compare_runs(rows, settings, against, behind=False).components,
            }
            for level, rows in groups
        ],
    }
    if against:
        value["against"] = against
    if by:
        value["between_levels"] = compare_levels(banded, BY[by][0], settings)
    return QueryResult(
        plain_value(value), counted(runs), tuple(counted(rows) for _, rows in groups), settings
    )


def with_pot_levels(runs: pl.DataFrame) -> pl.DataFrame:
    """The runs with `pot_level`, the band that their pot's volume lies in."""
    return runs.with_columns(pot_level(pl.col("pot_volume_ml")).alias("pot_level"))


def split(runs: pl.DataFrame, by: str) -> list[tuple[str, pl.DataFrame]]:
    """The runs of each level that has any, in the fixed order of the levels."""
    column, levels = BY[by]
    parts = [(level, runs.filter(pl.col(column) == level)) for level in levels]
    return [(level, rows) for level, rows in parts if rows.height]


def counted(runs: pl.DataFrame) -> dict[str, int]:
    """Members, series and runs of a frame."""
    return {
        "members": runs["member_key"].n_unique(),
        "series": runs.select("member_key", "series_key").n_unique(),
        "runs": runs.height,
    }

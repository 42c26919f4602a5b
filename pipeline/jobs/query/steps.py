"""A question to the pool: the pooled comparison for one part of it, computed afresh from the readers' copy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.compare.steps import compare_levels, compare_runs
from pipeline.jobs.month.results_file import plain_value
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
from schemas.vocabulary import CHOICES

BY: dict[str, tuple[str, tuple[str, ...]]] = {
    "climate": ("climate_zone", tuple(choice.value for choice in CHOICES["climate_zone"])),
    "pot": ("pot_level", tuple(name for name, _ in POT_LEVELS)),
    "setup": ("setup_type", tuple(choice.value for choice in CHOICES["setup_type"])),
    "grade": ("component_grade", tuple(choice.value for choice in CHOICES["component_grade"])),
}
"""Option of `--by` -> the column that splits the runs, and its levels in order."""


@dataclass(frozen=True)
class QueryResult:
    """The answer of `query`: `value` as its JSON says it, and how many members, series and runs stand
    behind it and behind each group."""

    value: Mapping[str, Any]
    counts: Mapping[str, int]
    group_counts: tuple[Mapping[str, int], ...]
    settings: Settings


def answer(pool: Path, part: Part, by: str | None, against: float = 0.0) -> QueryResult:
    """The comparison for that part, beside straight base or beside the share `against` (percent); and once more
    for each level of `by` that has runs, with the ratio of ratios between levels. Locks nothing."""
    settings = pool_settings(pool)
    runs = add_rates(part.of(runs_in_force(pool)))
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

"""A question to the pool: the pooled comparison for one part of it, computed afresh from the readers' copy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.compare.steps import compare_levels, compare_parts, compare_runs
from pipeline.compare.values.asked_parts import PartsAsked
from pipeline.jobs.decisions.waits_counted import waits_by_component, with_waits
from pipeline.jobs.month.results_file import plain_value
from pipeline.jobs.query.for_everyone import components_for_everyone, runs_for_everyone
from pipeline.jobs.query.part import Part
from pipeline.jobs.receiving.checking import pool_settings
from pipeline.jobs.samples import any_invented
from pipeline.load.changes.editions import is_invented
from pipeline.load.database.newest import last_change
from pipeline.load.truth.records import View
from pipeline.load.views.reading import view
from pipeline.normalise.steps import add_rates
from pipeline.settings import Settings
from schemas.results.component import PartComponentValue
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
LEVEL_WORDS = {"climate": "in {}", "pot": "in pots of {}", "setup": "with the holder {}", "grade": "{}"}
"""How a level is spoken of behind the component; a grade stands before it."""
PART, PART_WORDS = "part", "in this part of the pool"
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
    for each level of `by` that has runs, with the ratio of ratios between levels. A part, and every level, borrows from
    the whole pool of its components and bases. Locks nothing."""
    standing = view(pool)
    in_force = standing.runs
    chosen = part.of(in_force)
    full = _compared(pool, part, in_force, by, against)
    by_month = part.by_month()
    public = runs_for_everyone(in_force)
    seen = by_month.of(public)
    if seen.select(ORIGIN).equals(chosen.select(ORIGIN)):
        passed_on = replace(full, value={**full.value, "where": by_month.as_value()})
    else:
        passed_on = _compared(pool, by_month, public, None, against)
    small = _with_waits(_kept_small(passed_on), standing)
    return replace(_with_waits(full, standing), to_pass_on=small)


def answer_for_everyone(pool: Path, part: Part, by: str | None) -> QueryResult:
    """The comparison for that part by the rule of small numbers: places and days as everyone may see them, no figure
    that rests on fewer than 3 growers. Locks nothing."""
    standing = view(pool)
    public = runs_for_everyone(standing.runs)
    return _with_waits(_kept_small(_compared(pool, part.by_month(), public, by, 0.0)), standing)


def _with_waits(result: QueryResult, standing: View) -> QueryResult:
    """The same answer with how many runs of each component wait in the whole pool, whatever part was asked about."""
    waits = waits_by_component(standing.waiting)
    value = dict(result.value)
    value["components"] = with_waits(value["components"], waits)
    value["groups"] = [
        {**group, "components": with_waits(group["components"], waits)} for group in value["groups"]
    ]
    return replace(result, value=value)


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


def _compared(
    pool: Path, part: Part, everything: pl.DataFrame, by: str | None, against: float
) -> QueryResult:
    settings = pool_settings(pool)
    runs = with_pot_levels(add_rates(part.whole.of(everything))).with_row_index("row")
    inside = part.of(runs)
    marked = runs.with_columns(pl.col("row").is_in(inside["row"].implode()).alias("inside")).drop("row")
    levels = present_levels(inside, by) if by else ()
    grouped = parts_by(marked, by, levels, settings, against) if by else {}
    value: QueryValue = {
        "as_of": moment_text(last_change(pool)),
        "invented": is_invented(pool) or any_invented(inside["submission"]),
        "where": part.as_value(),
        "components": lone_part(marked, settings, against)
        if part.narrows
        else compare_runs(marked.drop("inside"), settings, against, behind=False).components,
        "groups": [{"by": by or "", "level": level, "components": grouped[level]} for level in levels],
    }
    if against:
        value["against"] = against
    if by:
        value["between_levels"] = compare_levels(inside.drop("row"), BY[by][0], settings)
    counts = tuple(counted(inside.filter(pl.col(BY[by][0]) == level)) for level in levels) if by else ()
    return QueryResult(plain_value(value), counted(inside), counts, settings)


def lone_part(marked: pl.DataFrame, settings: Settings, against: float) -> dict[str, PartComponentValue]:
    """The answer of the runs that are `inside`, borrowing from all the others."""
    named = marked.with_columns(pl.when("inside").then(pl.lit(PART)).alias("part")).drop("inside")
    asked = PartsAsked("part", "part", (PART,), (PART_WORDS,))
    return compare_parts(named, asked, settings, against)[PART]


def parts_by(
    marked: pl.DataFrame, by: str, levels: tuple[str, ...], settings: Settings, against: float
) -> dict[str, dict[str, PartComponentValue]]:
    """Every level's answer of the runs that are `inside`, borrowing from the whole pool."""
    inside = pl.when("inside").then(pl.col(BY[by][0]).cast(pl.String))
    words = tuple(LEVEL_WORDS[by].format(level.replace("_", " ")) for level in levels)
    asked = PartsAsked(by, "part", levels, words)
    return compare_parts(marked.with_columns(inside.alias("part")).drop("inside"), asked, settings, against)


def with_pot_levels(runs: pl.DataFrame) -> pl.DataFrame:
    """The runs with `pot_level`, the band that their pot's volume lies in."""
    return runs.with_columns(pot_level(pl.col("pot_volume_ml")).alias("pot_level"))


def present_levels(runs: pl.DataFrame, by: str) -> tuple[str, ...]:
    """The levels that any run has, in the fixed order of the levels."""
    column, levels = BY[by]
    present = set(runs[column].cast(pl.String).drop_nulls().unique())
    return tuple(level for level in levels if level in present)


def counted(runs: pl.DataFrame) -> dict[str, int]:
    """Members, series and runs of a frame."""
    return {
        "members": runs["member_key"].n_unique(),
        "series": runs.select("member_key", "series_key").n_unique(),
        "runs": runs.height,
    }

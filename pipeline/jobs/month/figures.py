"""The figures of one edition of a month: store → rates → comparison → the value of `results.json`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import polars as pl

from pipeline.compare.steps import compare_runs
from pipeline.jobs.decisions.waits_counted import waits_by_component, with_waits
from pipeline.jobs.month.levels import pooled_levels
from pipeline.jobs.month.nicknames import nicknames, renamed, spoken_names
from pipeline.jobs.month.public_pool import public_runs
from pipeline.jobs.month.results_file import plain_value
from pipeline.jobs.samples import any_invented
from pipeline.load.changes.editions import compared_with, cutoff_of, is_invented, newest_line, settings_for
from pipeline.load.database import store
from pipeline.load.truth.records import Edition
from pipeline.load.views.aside import set_aside_by_reason
from pipeline.load.views.changed import changed_between
from pipeline.load.views.reading import view
from pipeline.normalise.steps import add_rates
from pipeline.settings import settings_from
from schemas.results.whole import ResultsValue
from schemas.rules import rule
from schemas.trade.changed import Changed
from schemas.trade.moments import moment_text
from schemas.trade.small_numbers import coarsened


@dataclass(frozen=True)
class Figures:
    """One edition as numbers. `results`: the whole value of `results.json`, rounded. `effects`, `members`:
    the comparison's frames. `runs`: the runs as everyone may see them. `held_by_rule`: rule, title, level,
    rows. `received`: sheets, rows, accepted and held rows received so far. `set_aside`: reason, runs.
    `pooled`: pooled ratios of the parts that the pages show. `known`: the newest journal line when they were begun.
    `changed`: what became of the runs since the edition before; None in a pool's first month."""

    edition: Edition
    results: ResultsValue
    effects: pl.DataFrame
    members: pl.DataFrame
    runs: pl.DataFrame
    held_by_rule: pl.DataFrame
    received: Mapping[str, int]
    set_aside: pl.DataFrame
    pooled: pl.DataFrame
    known: int
    changed: Changed | None = None


def figures(pool: Path, edition: Edition) -> Figures:
    """Computes an edition afresh. The same pool, month, edition and settings give the same results."""
    known = newest_line(pool)
    seen = view(pool, cutoff_of(edition))
    settings = settings_from(settings_for(pool, edition.month), "the journal")
    runs = add_rates(seen.runs)
    comparison = compare_runs(runs, settings)
    spoken = spoken_names(runs, nicknames(pool, cutoff_of(edition)))
    results: ResultsValue = {
        "month": edition.month,
        "open": edition.open,
        "edition": edition.number,
        "as_of": moment_text(edition.as_of),
        "invented": is_invented(pool) or any_invented(seen.runs["submission"]),
        "scope": comparison.scope,
        "counts": {name: seen.counts[name] for name in ("members", "series", "runs", "held")},
        "waits": seen.counts["waits"],
        "settings": settings.as_values(),
        "components": with_waits(comparison.components, waits_by_component(seen.waiting)),
    }
    if edition.erased:
        results["erased"] = edition.erased
    return Figures(
        edition=edition,
        results=plain_value(results),
        effects=renamed(with_blurred_places(comparison.effects, runs), spoken),
        members=renamed(comparison.members, spoken),
        runs=renamed(public_runs(runs), spoken),
        held_by_rule=held_by_rule(seen.held),
        received=received_counts(seen.receipts),
        set_aside=set_aside_by_reason(pool, cutoff_of(edition)),
        pooled=pooled_levels(runs, comparison.components, settings),
        known=known,
        changed=what_changed(pool, edition),
    )


def what_changed(pool: Path, edition: Edition) -> Changed | None:
    """What became of the runs since the edition that readers look back to; None in a pool's first month."""
    with store.reading(pool) as connection:
        lines = store.lines_of(connection)
        before = compared_with(lines, edition)
        if before is None:
            return None
        changed = changed_between(connection, lines, cutoff_of(before), cutoff_of(edition))
    return replace(changed, method=before.version if before.version != edition.version else None)


def with_blurred_places(effects: pl.DataFrame, runs: pl.DataFrame) -> pl.DataFrame:
    """The effects with each series' climate class as the public may see it."""
    places = (
        coarsened(runs)
        .group_by("member", "series")
        .agg(pl.col("climate_zone").drop_nulls().sort().first())
        .with_columns(pl.col("member", "series").cast(pl.String))
    )
    order = effects.columns
    return effects.drop("climate_zone").join(places, on=["member", "series"], how="left").select(order)


def held_by_rule(held: pl.DataFrame) -> pl.DataFrame:
    """How many rows wait behind each rule: rule, title, level, rows; most rows first."""
    counted = (
        held.select(pl.col("reasons").alias("rule"))
        .explode("rule")
        .drop_nulls()
        .group_by("rule")
        .len("rows")
        .sort("rows", "rule", descending=[True, False])
    )
    known = [rule(one) for one in counted["rule"]]
    return counted.select(
        "rule",
        pl.Series("title", [one.title for one in known], dtype=pl.String),
        pl.Series("level", [one.level for one in known], dtype=pl.String),
        pl.col("rows").cast(pl.Int64),
    )


def received_counts(receipts: pl.DataFrame) -> dict[str, int]:
    """Sheets received so far and their rows, as they were judged on arrival."""
    return {
        "sheets": receipts.height,
        **{name: int(receipts[name].sum() or 0) for name in ("rows", "accepted", "held")},
    }

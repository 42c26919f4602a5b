"""A grower's own page: their series beside the pool in plain words. Held rows and questions never stand on it."""

from __future__ import annotations

import polars as pl

from reports.answer import Answer, answers
from reports.charts.own_dots import own_drawing
from reports.frame import framed
from reports.growers import Grower, growers
from reports.headline import BASE
from reports.page import Block, Inline, Minutes, Page, Section, TableBlock, cell, say
from reports.standard_pot import standard_pot
from reports.view import MonthView
from reports.words import (
    as_straight,
    bare_minutes,
    between,
    capital,
    count,
    listed,
    percent,
    plain,
    times_as_fast,
    two_figures,
)

SERIES_LISTED = 8
CHECK = (
    "This is a draft for you to check. If a number is not what you measured, send the sheet again with that row mended, "
    "or write to the coordinator; nothing is published before contributors have had time to look."
)


def member_pages(view: MonthView) -> list[Page]:
    """One page per grower whose code can name a file."""
    found = answers(view.results)
    return [_page(view, grower, found) for grower in growers(view) if grower.page is not None]


def _page(view: MonthView, grower: Grower, found: list[Answer]) -> Page:
    sections: list[Section] = []
    for answer in found:
        own = view.members.filter(
            (pl.col("member") == grower.member)
            & (pl.col("component") == answer.component)
            & (pl.col("state") == "fresh")
        ).sort("component_share")
        if not own.is_empty():
            sections.append(_beside_the_pool(answer, own))
    sections += _series(view, grower)
    sections.append(Section("How alike are your pots?", (say(_repeats(grower)),), "repeats"))
    sections += _years(view, grower)
    if view.draft:
        sections.append(Section("Is this right?", (say(CHECK),), "check"))
    return framed(
        view,
        grower.page or "",
        f"Grower {grower.member}",
        (f"{grower.member}: {count(grower.series, 'series', 'series')}, {count(grower.runs, 'run')}",),
        (_headline(view, grower, found),),
        tuple(sections),
    )


def _headline(view: MonthView, grower: Grower, found: list[Answer]) -> str:
    for answer in found:
        own = view.members.filter(
            (pl.col("member") == grower.member)
            & (pl.col("component") == answer.component)
            & (pl.col("state") == "fresh")
        ).drop_nulls(["ratio"])
        if own.is_empty():
            continue
        row = own.sort("component_share").row(-1, named=True)
        return (
            f"Your {percent(row['component_share'])} {plain(answer.component)} drained {times_as_fast(row['ratio'])} as your own "
            f"{as_straight(BASE)}."
        )
    return "Without a straight-base pot in the same series there is nothing to set your mixes against yet."


def _beside_the_pool(answer: Answer, own: pl.DataFrame) -> Section:
    rows = []
    for row in own.iter_rows(named=True):
        pooled = answer.overall.at(row["component_share"])
        average = two_figures(pooled.ratio) if pooled is not None and pooled.ratio is not None else "–"
        wide = between(*pooled.new_series) if pooled is not None and pooled.new_series else "–"
        mine = two_figures(row["ratio"]) if row["ratio"] is not None else "–"
        span = f" ({between(row['ratio_low'], row['ratio_high'])})" if row["ratio_low"] is not None else ""
        rows.append((cell(percent(row["component_share"])), cell(mine + span), cell(average), cell(wide)))
    headings = (plain(answer.component), "yours (own range)", "average", "other growers")
    table = TableBlock(
        f"Times as fast as straight peat: {plain(answer.component)}", headings, tuple(rows), stays=True,
        note="Ranges hold 19 in 20. Being at an end of the range is no mistake: pots, peat and water differ.",
    )  # fmt: skip
    drawn = own_drawing(f"own-{answer.component}", answer.overall, own)
    blocks: tuple[Block, ...] = (drawn, table) if drawn is not None else (table,)
    return Section(
        f"Where do you stand with {plain(answer.component)}?",
        blocks,
        f"own-{answer.component}".replace("_", "-"),
    )


def _series(view: MonthView, grower: Grower) -> list[Section]:
    """One small table per series: every share against the same series' straight base."""
    if view.effects.is_empty():
        return []
    own = view.effects.filter((pl.col("member") == grower.member) & (pl.col("state") == "fresh"))
    if own.is_empty():
        return []
    straight = standard_pot(view.runs, view.settings).straight_minutes
    series = own.select("series", "component").unique().sort("series", "component")
    blocks: list[Block] = [
        _one_series(own.filter((pl.col("series") == name) & (pl.col("component") == component)), straight)
        for name, component in series.head(SERIES_LISTED).iter_rows()
    ]
    if series.height > SERIES_LISTED:
        blocks.append(
            say(f"{SERIES_LISTED} of {series.height} series shown; all stand in pool.csv.", tone="small")
        )
    return [Section("What did each series show?", tuple(blocks), "series")]


def _one_series(rows: pl.DataFrame, straight: float | None) -> TableBlock:
    first = rows.row(0, named=True)
    where = (
        f"{first['series']}: {first['grade'] or 'grade not given'} {plain(first['component'])}, {plain(first['setup_type'])}, "
        f"{two_figures(first['pot_volume_ml'] / 1000)} l"
    )
    lines = []
    for row in rows.sort("component_share").iter_rows(named=True):
        timed: Inline = "–"
        if straight is not None:
            timed = Minutes(straight / row["ratio"], bare_minutes(straight / row["ratio"]), bare=True)
        lines.append(
            (
                cell(percent(row["component_share"])),
                cell(two_figures(row["ratio"])),
                cell(timed),
                cell(str(row["pots"])),
            )
        )
    headings = ("share", "times as fast", "minutes, standard pot", "pots")
    return TableBlock(where, headings, tuple(lines), frozenset({1, 2, 3}), stays=True)


def _repeats(grower: Grower) -> str:
    if grower.two_pots_within is None:
        return "You have filled each mix once. A second pot of the same mix, filled afresh, tells how alike pots are: the most useful next test."
    return (
        f"Two pots of one mix by you lie within {two_figures(grower.two_pots_within)} times of each other, 19 times in 20 "
        f"(from {count(grower.replicates, 'repeated filling')})."
    )


def _years(view: MonthView, grower: Grower) -> list[Section]:
    """The same series in more than one calendar year, straight base and mixes apart."""
    own = view.runs.filter((pl.col("member") == grower.member) & (pl.col("rate_ml_min_l") > 0))
    dated = own.with_columns(pl.col("tested_on").cast(pl.String).str.slice(0, 4).alias("year"))
    per_year = dated.group_by("series", "component_share", "year").agg(
        pl.col("rate_ml_min_l").log().mean().exp().alias("rate"), pl.len().alias("runs")
    )
    several = per_year.filter(pl.len().over("series", "component_share") > 1).sort(
        "series", "component_share", "year"
    )
    if several.is_empty():
        return []
    rows = tuple(
        (
            cell(f"{row['series']}, {percent(row['component_share'])}"),
            cell(row["year"]),
            cell(two_figures(row["rate"])),
            cell(str(row["runs"])),
        )
        for row in several.iter_rows(named=True)
    )
    headings = ("pot", "year", "ml a minute and litre", "runs")
    years = listed(sorted(several["year"].unique()))
    table = TableBlock(capital(f"the same pots in {years}"), headings, rows, frozenset({2, 3}), stays=True)
    return [Section("Has it changed over the years?", (table,), "years")]

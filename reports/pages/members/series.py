"""A grower's own page, middle part: each series against its own straight base, in times as fast and in minutes."""

from __future__ import annotations

import polars as pl

from reports.answer import FRESH
from reports.headline import POTS
from reports.page import Block, Inline, Minutes, Section, TableBlock, cell, say
from reports.pages.shared.growers import Grower
from reports.pages.shared.own_pot import pot_form, pot_words
from reports.view import MonthView
from reports.words import listed, mix, plain, quantity, time_words, two_figures
from schemas.trade.pots import StandardPot

SERIES_LISTED = 8


def own_series_sections(view: MonthView, grower: Grower, pot: StandardPot) -> list[Section]:
    """One small table per series: every share against the same series' straight base."""
    if view.effects.is_empty():
        return []
    own = view.effects.filter((pl.col("member") == grower.member) & (pl.col("state") == "fresh"))
    if own.is_empty():
        return []
    straight = pot.straight_minutes
    series = own.select("series", "component").unique().sort("series", "component")
    blocks: list[Block] = [
        _one_series(own.filter((pl.col("series") == name) & (pl.col("component") == component)), straight)
        for name, component in series.head(SERIES_LISTED).iter_rows()
    ]
    if series.height > SERIES_LISTED:
        blocks.append(
            say(f"{SERIES_LISTED} of {series.height} series shown; all stand in pool.csv.", tone="small")
        )
    blocks += _not_beside(view, grower, set(own["series"]))
    if straight is not None:
        blocks += [pot_words(pot, straight, POTS[FRESH]), pot_form(pot)]
    return [Section("What did each series show?", tuple(blocks), "series")]


def _not_beside(view: MonthView, grower: Grower, shown: set[str]) -> list[Block]:
    """Series that stand in the pool and in no table here."""
    sent = view.runs.filter(pl.col("member") == grower.member)["series"].unique().sort().to_list()
    others = [f"“{name}”" for name in sent if name not in shown]
    if not others:
        return []
    has, it = ("has", "it stands") if len(others) == 1 else ("have", "they stand")
    return [
        say(
            f"{listed(others)} {has} no moist, freshly filled pair of a mix and straight base; {it} in pool.csv all the same.",
            tone="small",
        )
    ]


def _one_series(rows: pl.DataFrame, straight: float | None) -> TableBlock:
    first = rows.row(0, named=True)
    where = (
        f"{first['series']}: {first['grade'] or 'grade not given'} {plain(first['component'])}, {plain(first['setup_type'])}, "
        f"{quantity(first['pot_volume_ml'] / 1000)} l"
    )
    lines = []
    for row in rows.sort("component_share").iter_rows(named=True):
        timed: Inline = "–"
        if straight is not None:
            timed = Minutes(straight / row["ratio"], time_words(straight / row["ratio"]))
        lines.append(
            (
                cell(mix(row["component_share"])),
                cell(two_figures(row["ratio"])),
                cell(timed),
                cell(str(row["pots"])),
            )
        )
    headings = ("share", "times as fast", "standard pot", "pots")
    return TableBlock(where, headings, tuple(lines), frozenset({1, 2, 3}), stays=True)

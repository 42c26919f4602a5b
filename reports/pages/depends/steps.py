"""Where it depends: the pool by grade, settling, holder, pot, water and climate; a reader's own part of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import polars as pl

from reports.answer import Answer, Table
from reports.charts.curve import axes_for, curve
from reports.charts.unknown_map import unknown_map
from reports.frame import Content
from reports.headline import BASE, compared_in, finding, share_in_focus
from reports.page import Block, Card, Cards, Folded, Section, TableBlock, cell, items, say
from reports.pages.depends.asked import asked_section, looked_at_section
from reports.pages.depends.behind import (
    apart_section,
    robustness_section,
    settling_section,
    small_share_section,
)
from reports.pages.depends.own_part import own_part_section
from reports.pages.depends.splits import split_section
from reports.tables import shares_table
from reports.view import MonthView
from reports.words import as_straight, capital, count, percent, plain, two_figures
from schemas.trade import verdicts

GROWERS_WANTED = 3
SMALL_HEIGHT = 200


def depends_content(view: MonthView) -> Content:
    """`depends.html`."""
    known = view.answers
    sections: list[Section] = []
    headline = "Nothing to split yet: the pool has nothing to compare."
    if known:
        answer = known[0]
        levelled = view.levelled_of(answer.component)
        focus = share_in_focus(answer.overall, view.settings.reference_share)
        headline = _headline(answer)
        sections += own_part_section(view, levelled, answer)
        sections += _grades(view, answer)
        sections += _settled(view, answer)
        sections += settling_section(answer)
        sections += apart_section(answer)
        sections += asked_section(answer)
        if focus is not None:
            sections += split_section(view, answer, focus)
        sections += looked_at_section(answer)
        sections += small_share_section(answer)
        sections += robustness_section(answer)
        sections += _unknown(levelled, answer)
    return Content(
        (headline,),
        (
            "Choose your climate and pot first; below stand the questions that were fixed beforehand, and apart from them what was merely looked at.",
        ),
        tuple(sections),
    )


def _headline(answer: Answer) -> str:
    shares = {
        table.recommendation.share
        for table in answer.grades
        if table.recommendation.verdict == verdicts.ENOUGH
    }
    name = plain(answer.component)
    if len(shares) > 1:
        low, high = min(share for share in shares if share), max(share for share in shares if share)
        return f"Enough {name} is {percent(low)} to {percent(high)}, depending on the grade"
    return f"{capital(name)} in different grades, pots and climates"


def _grades(view: MonthView, answer: Answer) -> list[Section]:
    blocks: list[Block] = [
        items(
            *(f"{capital(plain(table.name))}: {finding(table, answer.component)}" for table in answer.grades)
        )
    ]
    blocks.append(_small_multiples(view, answer, "fresh", answer.grades))
    target = view.settings.target_ratio
    for table in answer.grades:
        figures = shares_table(table, target, as_straight(BASE), answer.component)
        blocks.append(
            Folded(f"{capital(plain(table.name))}: every share, {count(table.members, 'grower')}", (figures,))
        )
    return [Section("What does each grade do?", tuple(blocks), "grades")] if answer.grades else []


def _small_multiples(view: MonthView, answer: Answer, state: str, tables: Sequence[Table]) -> Block:
    """One small curve per table, all on the same axes."""
    target = view.settings.target_ratio
    axes = axes_for(tables, view.effects_of(answer.component, state), target)
    cards = []
    for table in tables:
        effects = view.effects_of(answer.component, state, table.name)
        name = f"curve-{state}-{table.name}"
        drawn = curve(name, table, effects, target, compared_in(answer), axes, SMALL_HEIGHT)
        if drawn is not None:
            cards.append(Card(capital(plain(table.name)), (replace(drawn, table=None, caption=""),)))
    return Cards(tuple(cards))


def _settled(view: MonthView, answer: Answer) -> list[Section]:
    if answer.settled is None:
        return []
    rows = tuple(
        (
            cell(percent(row.share), source=(*answer.settled.path, "shares", row.share, "share")),
            cell(
                _ratio(answer.overall, row.share), source=(*answer.overall.path, "shares", row.share, "ratio")
            ),
            cell(
                _ratio(answer.settled, row.share), source=(*answer.settled.path, "shares", row.share, "ratio")
            ),
            cell(str(row.members), source=(*answer.settled.path, "shares", row.share, "members")),
        )
        for row in answer.settled.shares
    )
    headings = (plain(answer.component), "fresh", "settled", "growers")
    table = TableBlock(
        f"Times as fast as {as_straight(BASE)}: freshly filled, and poured before",
        headings,
        rows,
        frozenset({1, 2, 3}),
        stays=True,
    )
    return [
        Section(
            "Does it last once settled?", (say(finding(answer.settled, answer.component)), table), "settled"
        )
    ]


def _ratio(table: Table, share: float) -> str:
    row = table.at(share)
    return two_figures(row.ratio) if row is not None and row.ratio is not None else "–"


def _unknown(levelled: pl.DataFrame, answer: Answer) -> list[Section]:
    shares = [row.share for row in answer.overall.shares]
    drawn = unknown_map("unknown-map", levelled, shares) if not levelled.is_empty() else None
    return [Section("Where has nobody looked?", (drawn,), "unknown-map-section")] if drawn is not None else []

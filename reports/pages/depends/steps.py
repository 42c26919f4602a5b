"""Where it depends: the pool by grade, settling, holder, pot, water and climate; a reader's own part of it."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from reports.answer import SETTLED, Answer, Table
from reports.charts.curve import axes_for, curve
from reports.charts.unknown_map import unknown_map
from reports.frame import Content
from reports.headline import BASE, Case, compared_in, finding
from reports.page import Block, Card, Cards, Folded, Items, Say, Section, TableBlock, cell, items, say
from reports.pages.depends.asked import asked_section, looked_at_section
from reports.pages.depends.behind import (
    apart_section,
    measured_loose,
    robustness_section,
    settling_section,
    small_share_section,
)
from reports.pages.depends.own_part import own_part_section
from reports.pages.depends.splits import split_section
from reports.pages.front.limits import grade_line
from reports.tables import shares_table
from reports.view import MonthView
from reports.words import as_straight, capital, count, mix, plain, two_figures
from schemas.trade import verdicts

GROWERS_WANTED = 3


def depends_content(view: MonthView) -> Content:
    """`depends.html`."""
    known = view.answers
    sections: list[Section] = []
    headline = "Nothing to split yet: the pool has nothing to compare."
    if known:
        answer = known[0]
        levelled = view.levelled_of(answer.component)
        focus = view.case_of(answer).row
        headline = _headline(answer)
        sections += own_part_section(view, levelled, answer)
        sections += _grades(view, answer)
        sections += opened(_settled(view, answer), "Share by share")
        sections += opened(settling_section(answer), "Pour by pour")
        sections += opened(apart_section(answer), "Test by test")
        sections += opened(asked_section(answer), "Each question, with its range")
        if focus is not None:
            sections += opened(split_section(view, answer, focus), "The pictures, side by side")
        sections += opened(looked_at_section(answer), "Each look, with its range")
        sections += small_share_section(answer)
        sections += opened(
            robustness_section(answer, measured_loose(view.runs)), "The same pool, looked at otherwise"
        )
        sections += opened(_unknown(levelled, answer), "Every combination of climate, pot and share")
    return Content(
        (headline,),
        (
            "Choose your climate and pot first; below stand the questions that were fixed beforehand, and apart from them what was merely looked at.",
        ),
        tuple(sections),
    )


def opened(sections: list[Section], summary: str) -> list[Section]:
    """The sections with their sentences in sight, and tables and pictures behind a line that opens them."""
    shortened = []
    for section in sections:
        said = [block for block in section.blocks if isinstance(block, (Say, Items))]
        behind = tuple(block for block in section.blocks if not isinstance(block, (Say, Items)))
        folded = [Folded(summary, behind)] if behind else []
        shortened.append(replace(section, blocks=(*said, *folded)))
    return shortened


def _headline(answer: Answer) -> str:
    if answer.overall.recommendation.verdict == verdicts.GRADES_DIFFER:
        return f"How much {plain(answer.component)} is enough depends on its grade."
    return (
        f"{capital(plain(answer.component))} in other grades, pots and climates: {grade_line(answer)[:1].lower()}{grade_line(answer)[1:]}"
        if answer.grades
        else f"{capital(plain(answer.component))} in other pots and climates"
    )


def _grades(view: MonthView, answer: Answer) -> list[Section]:
    if not answer.grades:
        return []
    target = view.settings.target_ratio
    figures = [
        shares_table(table, target, as_straight(BASE), answer.component)
        for grade in answer.grades
        for table in [grade.deciding_table]
    ]
    borrowed = [borrowing_line(table) for table in answer.grades if table.borrowing is not None]
    blocks: list[Block] = [
        say(grade_line(answer), tone="lead"),
        *([items(*borrowed)] if borrowed else []),
        Folded(
            "Each grade judged alone, without what the others tell",
            (
                items(*(alone_line(table, answer.component) for table in answer.grades)),
                _small_multiples(view, answer),
                *figures,
            ),
            "grades-alone",
        ),
    ]
    return [Section("Does the grade matter?", tuple(blocks), "grades")]


def borrowing_line(table: Table) -> str:
    """What is known of one grade with the whole pool counted in: first whether it is shown to differ."""
    text = table.borrowing.text if table.borrowing is not None else ""
    return f"{capital(plain(table.name))}: {text}".replace("'", "’")


def alone_line(table: Table, component: str) -> str:
    """What one grade's tests say by themselves: description, never a recipe."""
    recommendation = table.recommendation
    name = f"{capital(plain(table.name))} {plain(component)}"
    tests = f"{count(table.members, 'grower')}’ tests" if table.members != 1 else "1 grower’s tests"
    if recommendation.verdict == verdicts.ENOUGH and recommendation.share is not None:
        return f"{name}, judged alone: {tests} need {mix(recommendation.share)}."
    return f"{name}, judged alone: {tests} settle nothing."


def _small_multiples(view: MonthView, answer: Answer) -> Block:
    """One small curve per grade in the state whose answer it is, all on the same axes."""
    target, case = view.settings.target_ratio, view.case_of(answer)
    tables = [table.settled or table if case.state == SETTLED else table for table in answer.grades]
    axes = axes_for(tables, view.effects_of(answer.component, case.state), target)
    cards = []
    for grade, table in zip(answer.grades, tables, strict=True):
        effects = view.effects_of(answer.component, case.state, grade.name)
        drawn = curve(
            f"curve-{grade.name}",
            Case(case.state, table, None, None),
            effects,
            target,
            compared_in(answer),
            axes,
        )
        if drawn is not None:
            cards.append(
                Card(capital(plain(grade.name)), (replace(drawn, table=None, caption="", lines=False),))
            )
    return Cards(tuple(cards))


def _settled(view: MonthView, answer: Answer) -> list[Section]:
    if answer.settled is None:
        return []
    rows = tuple(
        (
            cell(mix(row.share), source=(*answer.settled.path, "shares", row.share, "share")),
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
        f"Times as fast as {as_straight(BASE)}: freshly filled, and settled (second pour, a wetter start)",
        headings,
        rows,
        frozenset({1, 2, 3}),
        stays=True,
    )
    return [
        Section(
            "Does it last at a second pour?",
            (say(finding(answer.settled, answer.component)), table),
            "settled",
        )
    ]


def _ratio(table: Table, share: float) -> str:
    row = table.at(share)
    return two_figures(row.ratio) if row is not None and row.ratio is not None else "–"


def _unknown(levelled: pl.DataFrame, answer: Answer) -> list[Section]:
    shares = [row.share for row in answer.overall.shares]
    drawn = unknown_map("unknown-map", levelled, shares) if not levelled.is_empty() else None
    return [Section("Where has nobody looked?", (drawn,), "unknown-map-section")] if drawn is not None else []

"""Where it depends: the pool by grade, settling, holder, pot, water and climate; a reader's own part of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import polars as pl

from reports.answer import Answer, Share, Table, answers
from reports.charts.curve import axes_for, curve
from reports.charts.levels import levels_chart
from reports.charts.unknown_map import unknown_map
from reports.frame import framed
from reports.headline import BASE, finding, share_in_focus
from reports.levels import (
    ANY,
    ELSEWHERE,
    KINDS,
    OWN_PART,
    POT_SIZES,
    Kind,
    by_grower,
    levelled,
    middles,
    with_pooled,
)
from reports.page import Block, Card, Cards, Chooser, Folded, Page, Section, TableBlock, cell, items, say
from reports.pages.behind import (
    apart_section,
    contrast_sections,
    robustness_section,
    settling_section,
    small_share_section,
)
from reports.pages.front_evidence import compared_in, effects_of
from reports.tables import shares_table
from reports.view import MonthView
from reports.words import as_straight, between, capital, count, percent, plain, two_figures

GROWERS_WANTED = 3
SMALL_HEIGHT = 200


def depends_page(view: MonthView) -> Page:
    """`depends.html`."""
    found = answers(view.results)
    sections: list[Section] = []
    headline = "Nothing to split yet: the pool has nothing to compare."
    if found:
        answer = found[0]
        frame = levelled(view, answer.component)
        focus = share_in_focus(answer.overall, float(view.settings["reference_share"]))
        headline = _headline(answer)
        sections += _own_part(view, frame, answer)
        sections += _grades(view, answer)
        sections += _settled(view, answer)
        sections += settling_section(answer)
        sections += apart_section(answer)
        if focus is not None and not frame.is_empty():
            sections += _kinds(view, frame, answer, focus)
        sections += contrast_sections(answer)
        sections += small_share_section(answer)
        sections += robustness_section(answer)
        sections += _unknown(frame, answer)
    return framed(
        view,
        "depends.html",
        "Where it depends",
        (headline,),
        (
            "Dots are growers as they are. A difference between two rows may come from who tested there, so none is ranked.",
        ),
        tuple(sections),
    )


def _headline(answer: Answer) -> str:
    shares = {
        table.recommendation.share for table in answer.grades if table.recommendation.verdict == "enough"
    }
    name = plain(answer.component)
    if len(shares) > 1:
        low, high = min(share for share in shares if share), max(share for share in shares if share)
        return f"How much {name} is enough runs from {percent(low)} to {percent(high)}, by grade"
    return f"{capital(name)} under different grades, pots, holders and climates"


def _grades(view: MonthView, answer: Answer) -> list[Section]:
    blocks: list[Block] = [
        items(
            *(f"{capital(plain(table.name))}: {finding(table, answer.component)}" for table in answer.grades)
        )
    ]
    blocks.append(_small_multiples(view, answer, "fresh", answer.grades))
    target = float(view.settings["target_ratio"])
    for table in answer.grades:
        figures = shares_table(table, target, as_straight(BASE), answer.component)
        blocks.append(
            Folded(f"{capital(plain(table.name))}: every share, {count(table.members, 'grower')}", (figures,))
        )
    return [Section("What does each grade do?", tuple(blocks), "grades")] if answer.grades else []


def _small_multiples(view: MonthView, answer: Answer, state: str, tables: Sequence[Table]) -> Block:
    """One small curve per table, all on the same axes."""
    target = float(view.settings["target_ratio"])
    axes = axes_for(tables, effects_of(view, answer.component, state), target)
    cards = []
    for table in tables:
        effects = effects_of(view, answer.component, state, table.name)
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
            cell(percent(row.share)),
            cell(_ratio(answer.overall, row.share)),
            cell(_ratio(answer.settled, row.share)),
            cell(str(row.members)),
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


def _kinds(view: MonthView, frame: pl.DataFrame, answer: Answer, focus: Share) -> list[Section]:
    sections = []
    for kind in KINDS:
        block = _kind(view, frame, answer, focus, kind)
        if block is not None:
            words = say(
                f"At {percent(focus.share)} {plain(answer.component)}, the share most readers ask about.",
                tone="small",
            )
            sections.append(Section(kind.question, (words, block), f"by-{kind.column.replace('_', '-')}"))
    return sections


def _kind(view: MonthView, frame: pl.DataFrame, answer: Answer, focus: Share, kind: Kind) -> Block | None:
    growers = by_grower(frame, kind.column, focus.share)
    name = f"by-{kind.column.replace('_', '-')}"
    levels = with_pooled(middles(growers), view.pooled, answer.component, kind.column, focus.share)
    return levels_chart(name, growers, levels, focus.share, compared_in(answer), kind.name)


def _own_part(view: MonthView, frame: pl.DataFrame, answer: Answer) -> list[Section]:
    """Climate and pot size to choose from; every panel made beforehand, too small ones say what is missing."""
    if frame.is_empty():
        return []
    climates = [ANY, *sorted(level for level in frame["climate"].unique() if level != ELSEWHERE)]
    sizes = [ANY, *(size for size, _ in POT_SIZES)]
    panels = []
    for climate in climates:
        for size in sizes:
            part = frame if climate == ANY else frame.filter(pl.col("climate") == climate)
            part = part if size == ANY else part.filter(pl.col("pot_size") == size)
            panels.append((f"{climate}|{size}", (_part_table(view, part, answer, climate, size),)))
    chooser = Chooser(
        "own-part",
        ("Climate class", "Pot"),
        (
            tuple((level, "any climate" if level == ANY else level) for level in climates),
            tuple((size, "any pot" if size == ANY else size) for size in sizes),
        ),
        tuple(panels),
        "Nobody has tested there yet: be the first.",
    )
    return [Section("What did growers like me see?", (chooser,), "like-me")]


def _part_table(view: MonthView, part: pl.DataFrame, answer: Answer, climate: str, size: str) -> Block:
    where = f"{'any climate' if climate == ANY else climate}, {'any pot' if size == ANY else 'pots ' + size}"
    members = part["member"].n_unique() if not part.is_empty() else 0
    if members < GROWERS_WANTED:
        missing = GROWERS_WANTED - members
        return say(
            f"{capital(where)}: {count(members, 'grower')} so far. {capital(count(missing, 'more grower'))} would make a first picture; be one of them.",
            tone="note",
        )
    rows = []
    level = f"{climate}|{size}"
    for share in sorted(part["component_share"].unique()):
        seen = middles(by_grower(part.with_columns(pl.lit(level).alias("all")), "all", share))
        row = with_pooled(seen, view.pooled, answer.component, OWN_PART, share).row(0, named=True)
        average = two_figures(row["middle"]) if row["middle"] is not None else "–"
        if row["sure_low"] is not None:
            average += f" ({between(row['sure_low'], row['sure_high'])})"
        growers = (cell(between(row["low"], row["high"])), cell(str(row["growers"])))
        rows.append((cell(percent(share)), cell(average), *growers))
    headings = (
        plain(answer.component),
        f"times as fast as {as_straight(BASE)}, on average (19 in 20 sure)",
        "lowest to highest grower",
        "growers",
    )
    note = "An average is given from three growers on."
    return TableBlock(capital(where), headings, tuple(rows), frozenset({3}), note, stays=True)


def _unknown(frame: pl.DataFrame, answer: Answer) -> list[Section]:
    shares = [row.share for row in answer.overall.shares]
    drawn = unknown_map("unknown-map", frame, shares) if not frame.is_empty() else None
    return [Section("Where has nobody looked?", (drawn,), "unknown-map-section")] if drawn is not None else []

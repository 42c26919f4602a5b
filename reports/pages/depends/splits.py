"""Where it depends, looked at without having been fixed beforehand: the pool split by one thing at a time."""

from __future__ import annotations

import polars as pl

from reports.answer import Answer, Share
from reports.charts.levels import levels_chart, levels_top
from reports.headline import compared_in
from reports.levels import ELSEWHERE, KINDS, Kind, by_grower, middles, with_pooled
from reports.page import Block, Card, Cards, ChartBlock, Section, say
from reports.view import MonthView
from reports.words import listed, percent, plain

HOW_TO_READ = (
    "Each ring is one grower. The upright stroke is their pooled average, given from three growers on; the bar is where "
    "that average lies, 19 in 20 sure. Line at 1×: as fast as without. All pictures share one scale."
)
CAUTION = (
    "Growers differ in more than one thing at once, so a gap between two rows may come from who tested there. "
    "No row is a winner: a hint for the next test, no more."
)


def split_section(view: MonthView, frame: pl.DataFrame, answer: Answer, focus: Share) -> list[Section]:
    """Small pictures beside one another, one per kind of split, at the share in focus."""
    levels = {
        kind: _levels(view, frame, answer, focus, kind) for kind in KINDS if kind.column in frame.columns
    }
    top = levels_top([growers for growers, _ in levels.values()])
    cards, single = [], []
    for kind, (growers, middle) in levels.items():
        drawn = _drawn(answer, focus, kind, growers, middle, top)
        if drawn is not None:
            cards.append(Card(kind.question, (drawn,)))
        elif middle.height == 1:
            level = middle["level"][0]
            why = "no place has three growers" if level == ELSEWHERE else f"all of it {plain(level)}"
            single.append(f"{kind.name} ({why})")
    if not cards:
        return []
    lead = say(f"At {percent(focus.share)} {plain(answer.component)}, freshly filled. {HOW_TO_READ}")
    blocks: list[Block] = [lead, Cards(tuple(cards)), say(CAUTION)]
    if single:
        blocks.append(
            say(f"Not to be split yet, among the tests of the headline: {listed(single)}.", tone="small")
        )
    return [Section("What may matter besides?", tuple(blocks), "splits")]


def _levels(
    view: MonthView, frame: pl.DataFrame, answer: Answer, focus: Share, kind: Kind
) -> tuple[pl.DataFrame, pl.DataFrame]:
    growers = by_grower(frame, kind.column, focus.share)
    return growers, with_pooled(middles(growers), view.pooled, answer.component, kind.column, focus.share)


def _drawn(
    answer: Answer, focus: Share, kind: Kind, growers: pl.DataFrame, middle: pl.DataFrame, top: float
) -> ChartBlock | None:
    name = f"by-{kind.column.replace('_', '-')}"
    return levels_chart(name, growers, middle, focus.share, compared_in(answer), kind.name, top)

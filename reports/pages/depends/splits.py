"""Where it depends, looked at without having been fixed beforehand: the pool split by one thing at a time."""

from __future__ import annotations

from dataclasses import dataclass

from reports.answer import Answer, Share
from reports.charts.levels import levels_chart, levels_top
from reports.headline import compared_in
from reports.page import Block, Card, Cards, ChartBlock, Section, say
from reports.view import Levels, MonthView
from reports.words import listed, percent, plain
from schemas.trade.levels import ELSEWHERE, SPLITS


@dataclass(frozen=True)
class Split:
    """How the page speaks of one way to split the pool: its question, its name in a table."""

    question: str
    name: str


WORDED: dict[str, Split] = {
    "grade": Split("Does the grade matter?", "grade"),
    "setup_type": Split("Does the holder matter?", "held on"),
    "pot_size": Split("Does the pot’s size matter?", "pot"),
    "water": Split("Does the water’s temperature matter?", "water"),
    "climate": Split("Does the climate matter?", "climate class"),
    "start": Split("Does the wetness at the start matter?", "start"),
}

HOW_TO_READ = (
    "Each ring is one grower. The upright stroke is their pooled average, given from three growers on; the bar is where "
    "that average lies, 19 in 20 sure. Line at 1×: as fast as without. All pictures share one scale."
)
CAUTION = (
    "Growers differ in more than one thing at once, so a gap between two rows may come from who tested there. "
    "No row is a winner: a hint for the next test, no more."
)


def split_section(view: MonthView, answer: Answer, focus: Share) -> list[Section]:
    """Small pictures beside one another, one per kind of split, at the share in focus."""
    splits = {kind: view.levels_of(answer.component, kind).at(focus.share) for kind in SPLITS}
    top = levels_top([levels.growers for levels in splits.values()])
    cards, single = [], []
    for kind, levels in splits.items():
        drawn = _drawn(answer, focus, kind, levels, top)
        if drawn is not None:
            cards.append(Card(WORDED[kind].question, (drawn,)))
        elif levels.averages.height == 1:
            level = levels.averages["level"][0]
            why = "no place has three growers" if level == ELSEWHERE else f"all of it {plain(level)}"
            single.append(f"{WORDED[kind].name} ({why})")
    if not cards:
        return []
    lead = say(f"At {percent(focus.share)} {plain(answer.component)}, freshly filled. {HOW_TO_READ}")
    blocks: list[Block] = [lead, Cards(tuple(cards)), say(CAUTION)]
    if single:
        blocks.append(
            say(f"Not to be split yet, among the tests of the headline: {listed(single)}.", tone="small")
        )
    return [Section("What may matter besides?", tuple(blocks), "splits")]


def _drawn(answer: Answer, focus: Share, kind: str, levels: Levels, top: float) -> ChartBlock | None:
    name = f"by-{kind.replace('_', '-')}"
    compared = compared_in(answer)
    return levels_chart(name, levels.growers, levels.averages, focus.share, compared, WORDED[kind].name, top)

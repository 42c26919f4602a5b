"""Front page, lower part: what 'enough' means, what was left out, what may be quoted."""

from __future__ import annotations

import math

from reports import student_t
from reports.answer import Answer, Share, Table
from reports.headline import BASE, quotable
from reports.held_rows import became_of, held_table
from reports.page import Block, Inline, Link, Section, items, say
from reports.pages.front.choices import choice_table
from reports.view import MonthView
from reports.words import (
    as_straight,
    count,
    newcomers,
    out_of_twenty,
    percent,
    setting_number,
)

OTHER_CHOICES = ((1.1, 0.8), (1.25, 0.9), (1.5, 0.8), (2.0, 0.8))
SUPPORTED_MEMBERS = 4


def enough_section(view: MonthView, answer: Answer) -> Section:
    """The club's two numbers in one sentence, and what other numbers would have given."""
    target, assurance = float(view.settings["target_ratio"]), float(view.settings["assurance"])
    said = (
        f"“Enough” here means: in {out_of_twenty(assurance).removeprefix('about ')} {newcomers(view.results['scope'])} at least "
        f"{setting_number(target)} times as fast as {as_straight(BASE)}, at that share and every larger one tested. "
        "The club chose both numbers."
    )
    blocks: list[Block] = [say(said)]
    table = choice_table(answer, target, assurance)
    lines: list[str] = []
    if table is None:
        others = [choice for choice in OTHER_CHOICES if choice != (target, assurance)]
        lines = [line for choice in others if (line := _with_others(answer.overall, *choice))]
    if table is not None:
        blocks.append(table)
    elif lines:
        how = "With others the answer would be (before the check that leaves out one grower at a time):"
        blocks += [say(how, tone="small"), items(*lines, tone="small")]
    return Section("What does “enough” mean?", tuple(blocks), "enough")


def _with_others(table: Table, target: float, assurance: float) -> str:
    rows = [row for row in table.known if row.members >= SUPPORTED_MEMBERS and row.has_new_series]
    if table.members < 5 or not rows:
        return ""
    enough: Share | None = None
    for row in reversed(rows):
        if _chance(row, target) < assurance:
            break
        enough = row
    asked = f"{setting_number(target)} times as fast in {out_of_twenty(assurance).removeprefix('about ')}"
    return f"{asked}: {percent(enough.share)}" if enough else f"{asked}: not reached"


def _chance(row: Share, target: float) -> float:
    """Chance that a new grower's series reaches `target`, redrawn from its 95 % range."""
    if row.ratio is None or row.new_series is None:
        return 0.0
    reach = (math.log(row.new_series[1]) - math.log(row.new_series[0])) / 2
    if reach <= 0:
        return 1.0 if row.ratio >= target else 0.0
    spread = reach / student_t.quantile(0.975, row.df)
    return student_t.probability_below((math.log(row.ratio) - math.log(target)) / spread, row.df)


def left_out_section(view: MonthView) -> Section:
    """What was received, held and left out of the headline, with the reasons."""
    received = view.received
    said = (
        f"{count(received.get('sheets', 0), 'sheet')} received, {count(received.get('rows', 0), 'row')}: "
        f"{count(received.get('accepted', 0), 'row')} accepted, {count(received.get('held', 0), 'row')} held{became_of(view)}. "
        "Nothing held is thrown away: the sender has each row with what was read and how to mend it."
    )
    blocks: list[Block] = [say(said)]
    table = held_table(view)
    if table is not None:
        blocks.append(table)
    blocks.append(say(Link("All of what came in", "quality.html"), tone="small"))
    return Section("What was left out?", tuple(blocks), "left-out", paper=False)


def quote_section(view: MonthView, answer: Answer) -> Section:
    """The sentence to paste, and the files."""
    files: list[tuple[Inline, ...]] = [
        (Link(name, name, True), f": {FILES.get(name, '')}") for name in view.downloads
    ]
    blocks = (say(quotable(answer, view.results), tone="quote"), items(*files, tone="small"))
    return Section("To quote or take along", blocks, "quote")


FILES = {
    "pool.csv": "every accepted run, members by code",
    "pool.parquet": "the same, for programs",
    "results.json": "every figure of these pages",
}

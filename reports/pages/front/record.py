"""Front page, lower part: what 'enough' means, what was left out, what may be quoted."""

from __future__ import annotations

from reports.answer import Answer
from reports.headline import BASE, quotable
from reports.page import Block, Inline, Link, Section, items, say
from reports.pages.front.choices import choice_table
from reports.pages.shared.held_rows import became_of, held_table
from reports.view import MonthView
from reports.words import (
    as_straight,
    count,
    newcomers,
    out_of_twenty,
    setting_number,
)


def enough_section(view: MonthView, answer: Answer) -> Section:
    """The club's two numbers in one sentence, and what other numbers would have given."""
    target, assurance = view.settings.target_ratio, view.settings.assurance
    sentence = (
        f"“Enough” here means: in {out_of_twenty(assurance).removeprefix('about ')} {newcomers(view.results['scope'])} at least "
        f"{setting_number(target)} times as fast as {as_straight(BASE)}, at that share and every larger one tested. "
        "The club chose both numbers."
    )
    table = choice_table(answer, target, assurance)
    blocks = (say(sentence),) if table is None else (say(sentence), table)
    return Section("What does “enough” mean?", blocks, "enough")


def left_out_section(view: MonthView) -> Section:
    """What was received, held and left out of the headline, with the reasons."""
    received = view.received
    sentence = (
        f"{count(received.get('sheets', 0), 'sheet')} received, {count(received.get('rows', 0), 'row')}: "
        f"{count(received.get('accepted', 0), 'row')} accepted, {count(received.get('held', 0), 'row')} held{became_of(view)}. "
        "Nothing held is thrown away: the sender has each row with what was read and how to mend it."
    )
    blocks: list[Block] = [say(sentence)]
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

"""Front page, lower part: what 'enough' means, what was left out, what may be quoted."""

from __future__ import annotations

from reports.answer import Answer
from reports.headline import BASE, quotable
from reports.page import Block, Folded, Inline, Link, Section, say
from reports.pages.front.choices import choice_table
from reports.pages.shared.held_rows import became_of, waiting_words
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
    share, table = answer.overall.recommendation.share, answer.overall.deciding_table
    edge = share is not None and share == table.largest_tested()
    reach = "at that share, the largest tested" if edge else "at that share and every larger one tested"
    sentence = (
        f"“Enough” here means: in {out_of_twenty(assurance).removeprefix('about ')} {newcomers(view.results['scope'])} at least "
        f"{setting_number(target)} times as fast as {as_straight(BASE)}, {reach}. The club chose both numbers."
    )
    joint = answer.overall.recommendation.p_all
    behind: list[Block] = []
    if joint is not None and not edge:
        behind.append(
            say(f"All those shares together: {out_of_twenty(joint)} {newcomers(view.results['scope'])}.")
        )
    choices = choice_table(answer, target, assurance)
    if choices is not None:
        behind.append(choices)
    folded = (Folded("With other numbers", tuple(behind), "choices"),) if behind else ()
    return Section("What does “enough” mean?", (say(sentence), *folded), "enough")


def left_out_section(view: MonthView) -> Section:
    """What was received and held; the reasons stand on their own page."""
    received = view.received
    sentence = (
        f"{count(received.get('sheets', 0), 'sheet')} with {count(received.get('rows', 0), 'row')}: "
        f"{count(received.get('accepted', 0), 'row')} accepted, {count(received.get('held', 0), 'row')} held{became_of(view)}. "
        f"{waiting_words(view.results)}Their senders know. "
    )
    return Section(
        "What was left out?", (say(sentence, Link("All of what came in", "quality.html")),), "left-out"
    )


def quote_section(view: MonthView, answer: Answer) -> Section:
    """The sentence to paste, and the files."""
    files: list[Inline] = ["Files: "]
    for number, name in enumerate(view.downloads):
        files += [
            ", " if number else "",
            Link(name, name, True),
            f" ({FILES[name]})" if name in FILES else "",
        ]
    blocks = (say(quotable(answer, view.results), tone="quote"), say(*files, ".", tone="small"))
    return Section("To quote or take along", blocks, "quote")


FILES = {
    "pool.csv": "accepted runs, members by code",
    "pool.parquet": "the same for programs",
    "results.json": "the figures behind the pages",
}

"""The front page: the answer, how sure it is, and why to believe it, in the order a reader asks."""

from __future__ import annotations

from dataclasses import replace

from reports.answer import Answer
from reports.frame import Content
from reports.headline import finding, how_sure
from reports.page import Block, Folded, Inline, Items, Link, Page, Section, items, say
from reports.pages.front.answer import grade_cards, mix_picture, settled_words, unknowns
from reports.pages.front.changes import changed_section
from reports.pages.front.evidence import curve_section, dots_section, growers_section, shares_section
from reports.pages.front.record import enough_section, left_out_section, quote_section
from reports.view import MonthView
from reports.words import plain
from schemas.trade.cautions import SHORT
from schemas.trade.pots import StandardPot


def front_content(view: MonthView) -> Content:
    """`index.html` of the month, whole also for an empty pool."""
    known = view.answers
    if not known:
        return _empty_content(view)
    answer, others = known[0], known[1:]
    pot = view.shown.standard_pot
    sections = [
        _grades_section(view, answer),
        dots_section(view, answer),
        curve_section(view, answer),
        shares_section(view, answer, pot),
        enough_section(view, answer),
        growers_section(view, answer),
        changed_section(view),
        left_out_section(view),
        Section("What is still unknown?", (items(*unknowns(view, answer)),), "unknown"),
        *_others(answer, others),
        _cautions(),
        quote_section(view, answer),
    ]
    return Content(
        (finding(answer.overall, answer.component),),
        (how_sure(answer.overall, view.settings, view.results["scope"]),),
        tuple(section for section in sections if section is not None),
        opening=_opening(view, answer, pot),
        one_sheet=True,
    )


def with_pictures_listed(page: Page, lines: list[tuple[Inline, ...]]) -> Page:
    """The front page with the list of all pictures among what may be taken along."""
    if not lines:
        return page
    listed = Folded("Every picture as a file, by page", (Items(tuple(lines), "small"),), "pictures")
    sections = [
        replace(section, blocks=(*section.blocks, listed)) if section.anchor == "quote" else section
        for section in page.sections
    ]
    return replace(page, sections=tuple(sections))


def _opening(view: MonthView, answer: Answer, pot: StandardPot) -> tuple[Block, ...]:
    """Straight below the headline: the mix as parts, the band, whether it lasts, whom it is for."""
    blocks: list[Block] = []
    picture = mix_picture("mix", answer.overall, answer.component)
    if picture is not None:
        blocks.append(picture)
    lines = settled_words(view, answer, pot)
    if lines:
        blocks.append(items(*lines))
    return tuple(blocks)


def _grades_section(view: MonthView, answer: Answer) -> Section | None:
    cards = grade_cards(view, answer)
    return Section("And by grade?", (cards,), "grades") if cards else None


def _others(answer: Answer, others: list[Answer]) -> list[Section]:
    """Other components, and other bases of this one, each by its finding."""
    lines = [finding(other.overall, other.component) for other in others]
    for table in answer.bases:
        lines.append(table.why or f"In {plain(table.name)}: {finding(table, answer.component, table.name)}")
    return [Section("And other mixes?", (items(*lines),), "others")] if lines else []


def _cautions() -> Section:
    more = say(
        "All cautions, with their sources: ",
        Link("how it is worked out", "method.html#cautions"),
        ".",
        tone="small",
    )
    return Section("Before you mix", (items(*SHORT, tone="caution"), more), "cautions")


def _empty_content(view: MonthView) -> Content:
    ask = (
        say("Nothing has been compared yet: no accepted series holds a mix beside its own straight base."),
        say(
            "The first sheet starts it. ",
            Link("Blank run sheet", "run-sheet.xlsx", True),
            " (spreadsheet with lists to choose from) or ",
            Link("as CSV", "run-sheet.csv", True),
            ".",
        ),
    )
    sections = (Section("What can I do?", ask, "start"), left_out_section(view), _cautions())
    return Content(
        ("No answer yet: the pool has nothing to compare.",),
        (),
        sections,
    )

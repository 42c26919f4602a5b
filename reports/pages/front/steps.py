"""The front page: the answer, how sure it is, and why to believe it, in the order a reader asks."""

from __future__ import annotations

from dataclasses import replace

from reports.answer import Answer
from reports.charts.curve import curve
from reports.frame import Content
from reports.headline import Case, compared_in, finding, how_sure
from reports.page import Folded, Inline, Items, Link, Page, Section, items, say
from reports.pages.front.changes import changed_section
from reports.pages.front.limits import first_look, grade_line, unknowns, whom_lines
from reports.pages.front.opening import opening_blocks
from reports.pages.front.record import enough_section, left_out_section, quote_section
from reports.pages.front.shares import shares_section
from reports.view import MonthView
from reports.words import plain
from schemas.trade.cautions import SHORT


def front_content(view: MonthView) -> Content:
    """`index.html` of the month, whole also for an empty pool."""
    known = view.answers
    if not known:
        return _empty_content(view)
    answer, others = known[0], known[1:]
    case = view.case_of(answer)
    sections = [
        shares_section(view, answer, case),
        curve_section(view, answer, case),
        _whom_section(view, answer),
        enough_section(view, answer),
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
        opening=opening_blocks(view, answer, case),
        one_sheet=True,
        standing=first_look(view, answer),
    )


def curve_section(view: MonthView, answer: Answer, case: Case) -> Section | None:
    """The picture of all shares, both states, with every series behind it."""
    effects = view.effects_of(answer.component, case.state)
    drawn = curve("curve", case, effects, view.settings.target_ratio, compared_in(answer))
    return None if drawn is None else Section("How does it change with the share?", (drawn,), "curve-section")


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


def _whom_section(view: MonthView, answer: Answer) -> Section | None:
    lines: list[str | tuple[Inline, ...]] = [*whom_lines(view, answer)]
    grades = grade_line(answer)
    if grades:
        lines.append((f"{grades} ", Link("Where it depends", "depends.html")))
    return Section("Does it hold for me?", (items(*lines),), "whom") if lines else None


def _others(answer: Answer, others: list[Answer]) -> list[Section]:
    """Other components, and other bases of this one, each by its finding."""
    lines = [finding(other.overall, other.component) for other in others]
    for table in answer.bases:
        lines.append(table.why or f"In {plain(table.name)}: {finding(table, answer.component, table.name)}")
    return [Section("And other mixes?", (items(*lines),), "others")] if lines else []


def _cautions() -> Section:
    more = say(Link("All cautions, with their sources", "method.html#cautions"), tone="small")
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

"""What every page of a month shares: the marks above it, the way between pages, the line below it."""

from __future__ import annotations

from reports.page import Block, Inline, Page, Section
from reports.view import MonthView
from reports.words import count, day, month_name, received_up_to, who

INVENTED = "Invented data: not growing advice"
PAGES: tuple[tuple[str, str], ...] = (
    ("index.html", "The answer"),
    ("depends.html", "Where it depends"),
    ("growers.html", "The growers"),
    ("quality.html", "What came in"),
    ("method.html", "How it is worked out"),
    ("dictionary.html", "Columns and rules"),
)


def banners(view: MonthView) -> tuple[str, ...]:
    """The marks that stand on every page of this month."""
    marks = []
    if view.results.get("invented"):
        marks.append(INVENTED)
    if view.results.get("open"):
        marks.append(
            f"Open month: {month_name(view.month)} is still running; figures so far, to {day(view.results['as_of'])}"
        )
    if view.draft:
        marks.append("Draft: for the contributors to check, not yet published")
    if view.correction is not None:
        marks.append(
            f"Corrected {day(view.correction.made_on)} (edition {view.results['edition']}): {view.correction.reason}"
        )
    return tuple(marks)


def framed(
    view: MonthView,
    path: str,
    title: str,
    headline: tuple[Inline, ...],
    under: tuple[Inline, ...],
    sections: tuple[Section, ...],
    opening: tuple[Block, ...] = (),
    one_sheet: bool = False,
) -> Page:
    """A page with the marks, the way to the other pages, and the month's counts below."""
    counts = view.results["counts"]
    up = "../" * path.count("/")
    nav = tuple((up + href if href != path else "", words) for href, words in PAGES)
    foot = (
        f"{view.pool_name}, {month_name(view.month)}, edition {view.results['edition']}. "
        f"{who(counts['members'], counts['series'], counts['runs'])} in force; {count(counts['held'], 'row')} held. "
        f"Everything received up to {received_up_to(view.results)}.",
    )
    return Page(
        path=path,
        title=f"{title} · {view.pool_name}, {month_name(view.month)}",
        headline=headline,
        under_headline=under,
        sections=sections,
        banners=banners(view),
        opening=opening,
        nav=nav,
        foot=foot,
        one_sheet=one_sheet,
    )

"""What every page of a month shares: the marks above it, the way between pages, the line below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reports.club import ClubSettings
from reports.page import Block, Download, Inline, Page, Section
from reports.view import MonthView
from reports.words import count, day, month_name, received_up_to, who

INVENTED = "Invented data: not growing advice"
DRAFT = "Draft: for the contributors to check, not yet published"


@dataclass(frozen=True)
class Content:
    """What a page says, before marks, navigation and counts stand around it. `headline` is its finding. `one_sheet`:
    prints on two A4 sides. `downloads`: files that go beside it. `standing`: how new the finding is."""

    headline: tuple[Inline, ...]
    under_headline: tuple[Inline, ...]
    sections: tuple[Section, ...]
    opening: tuple[Block, ...] = ()
    one_sheet: bool = False
    downloads: tuple[Download, ...] = ()
    standing: str = ""


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
        marks.append(DRAFT)
    if view.correction is not None:
        marks.append(
            f"Corrected {day(view.correction.made_on)} (edition {view.results['edition']}): {view.correction.reason}"
        )
    return tuple(marks)


def who_runs(settings: ClubSettings) -> str:
    """Who runs the pool, who pays, how to reach them, the licence; that it is not said where nothing is."""
    said = [
        f"{words} {value}."
        for words, value in (
            ("Run by", settings.run_by),
            ("Paid by", settings.paid_by),
            ("Contact:", settings.contact),
            ("Licence:", settings.licence),
        )
        if value
    ]
    return " ".join(said) or "Who runs this pool and who pays for it has not been said."


def framed(
    view: MonthView, path: str, title: str, content: Content, navigation: Sequence[tuple[str, str]]
) -> Page:
    """A page with the marks above it, the way to the other pages, and the month's counts below. `navigation`: path and
    label of every listed page, from the month's folder."""
    counts = view.results["counts"]
    up = "../" * path.count("/")
    foot = (
        f"{view.pool_name}, {month_name(view.month)}, edition {view.results['edition']}. "
        f"{who(counts['members'], counts['series'], counts['runs'])} in force; {count(counts['held'], 'row')} held{_waiting(view)}. "
        f"Everything received up to {received_up_to(view.results)}. {who_runs(view.settings)}",
    )
    return Page(
        path=path,
        title=f"{title} · {view.pool_name}, {month_name(view.month)}",
        headline=content.headline,
        under_headline=content.under_headline,
        sections=content.sections,
        banners=banners(view),
        opening=content.opening,
        nav=tuple((up + target if target != path else "", label) for target, label in navigation),
        foot=foot,
        one_sheet=content.one_sheet,
        standing=content.standing,
        downloads=content.downloads,
    )


def _waiting(view: MonthView) -> str:
    waits = view.results["waits"]
    return f"; {count(waits, 'run')} {'waits' if waits == 1 else 'wait'} for an answer" if waits else ""

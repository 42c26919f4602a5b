"""Who runs the pool, who pays, contact, licence and address: on every page and in the quote, or said to be missing."""

from __future__ import annotations

from dataclasses import replace

from reports.club import club_settings
from reports.headline import quotable
from reports.page import text_of
from reports.steps import month_pages
from reports.view import MonthView
from tests.unit.reports.invented_month import invented_view

SAID = {
    "run_by": "an invented club", "paid_by": "its members", "contact": "post@example.org", "licence": "CC BY 4.0",
    "report_address": "https://example.org/reports",
}  # fmt: skip


def saying(**words: str) -> MonthView:
    view = invented_view(12)
    return replace(view, results={**view.results, "settings": {**view.results["settings"], **words}})


def test_every_page_says_who_runs_and_who_pays() -> None:
    for page in month_pages(saying(**SAID)):
        foot = text_of(page.foot)
        assert (
            "Run by an invented club. Paid by its members. Contact: post@example.org. Licence: CC BY 4.0."
            in foot
        )


def test_what_was_not_said_is_told_as_missing() -> None:
    assert "has not been said" in text_of(month_pages(saying(**dict.fromkeys(SAID, "")))[0].foot)
    assert "Paid by" not in text_of(month_pages(saying(**{**SAID, "paid_by": ""}))[0].foot)


def test_the_quote_carries_address_and_licence() -> None:
    view = saying(**SAID)
    quote = quotable(view.answers[0], view.results)
    assert quote.endswith("https://example.org/reports. Licence: CC BY 4.0.)")
    assert quotable(invented_view(12).answers[0], invented_view(12).results).endswith("edition 1.)")


def test_results_of_older_versions_say_nothing_of_it() -> None:
    view = invented_view(12)
    older = {name: value for name, value in view.results["settings"].items() if name not in SAID}
    settings = club_settings({**view.results, "settings": older})
    assert (settings.run_by, settings.licence) == ("", "")

"""The index over months, its feed, and the mail to contributors."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

from reports.mail import mail_texts
from reports.page import text_of
from reports.pages.months import ATOM, MonthEntry, atom_feed, months_page
from reports.publish import write_months
from tests.unit.reports.invented_month import invented_view

RESULTS = invented_view(12).results
APRIL = MonthEntry({**RESULTS, "month": "2026-04"})
MAY = MonthEntry(RESULTS, draft=True)


def test_newest_month_leads_and_each_month_is_linked() -> None:
    page = months_page([APRIL, MAY])
    assert "May 2026" in text_of(page.under_headline)
    assert page.banners == ("Invented data: not growing advice",)


def test_feed_holds_published_months_only() -> None:
    feed = ElementTree.fromstring(atom_feed([APRIL, MAY]))  # noqa: S314 - our own bytes
    entries = feed.findall(f"{{{ATOM}}}entry")
    assert [one.findtext(f"{{{ATOM}}}id") for one in entries] == ["urn:drainpool:months:2026-04:1"]
    for needed in ("id", "title", "updated", "author"):
        assert feed.find(f"{{{ATOM}}}{needed}") is not None
    assert (entries[0].findtext(f"{{{ATOM}}}summary") or "").startswith("Invented data")


def test_index_of_no_months_holds_together(tmp_path: Path) -> None:
    written = write_months([], tmp_path)
    assert "No month has been made yet." in written.read_text()
    assert (tmp_path / "page.css").exists()


def test_mail_speaks_of_own_result_and_asks_to_check_a_draft() -> None:
    texts = mail_texts(invented_view(12, draft=True))
    assert len(texts) == 12
    text = texts["fen-03"]
    assert text.startswith("Subject: Five Fens pool, May 2026")
    assert "45 %:" in text and "as fast" in text
    assert "This is a draft" in text
    assert "fen-04" not in text
    assert max(map(len, text.splitlines())) <= 80

"""The index over months, its feed, and the mail to contributors."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from xml.etree import ElementTree

import pytest

from pipeline.jobs.month.files.report_files import write_months
from reports.mail import mail_texts
from reports.page import text_of
from reports.pages.months import ATOM, MonthEntry, atom_feed, feed_id, months_page
from reports.render import as_html
from tests.unit.reports.invented_month import invented_view

RESULTS = invented_view(12).results
APRIL = MonthEntry({**RESULTS, "month": "2026-04"})
MAY = MonthEntry(RESULTS, draft=True)
CORRECTED = MonthEntry({**RESULTS, "edition": 2, "as_of": "2026-06-20T09:30:00Z"})


def test_newest_month_leads_and_each_month_is_linked() -> None:
    page = months_page([APRIL, MAY])
    assert "May 2026" in text_of(page.under_headline)
    assert page.banners == ("Invented data: not growing advice",)


def test_feed_holds_published_months_only() -> None:
    feed = ElementTree.fromstring(atom_feed([APRIL, MAY]))  # noqa: S314 - our own bytes
    entries = feed.findall(f"{{{ATOM}}}entry")
    assert [one.findtext(f"{{{ATOM}}}id") for one in entries] == [feed_id("Five Fens pool", "2026-04", "1")]
    assert (entries[0].findtext(f"{{{ATOM}}}summary") or "").startswith("Invented data")


@pytest.mark.parametrize("entries", [[], [APRIL], [APRIL, CORRECTED]])
def test_feed_has_what_atom_requires(entries: list[MonthEntry]) -> None:
    """RFC 4287: a feed has exactly one id, title and updated, and an author, since no entry has its own (4.1.1); an
    entry has exactly one id, title and updated (4.1.2), and content or an alternate link; ids differ (4.2.6); a link has
    an href (4.2.7); moments are in RFC 3339 form (3.3)."""
    feed = ElementTree.fromstring(atom_feed(entries))  # noqa: S314 - our own bytes
    assert feed.tag == f"{{{ATOM}}}feed"
    found = feed.findall(f"{{{ATOM}}}entry")
    assert len(found) == len(entries)
    assert feed.findtext(f"{{{ATOM}}}author/{{{ATOM}}}name")
    for one in [feed, *found]:
        for needed in ("id", "title", "updated"):
            values = [element.text for element in one.findall(f"{{{ATOM}}}{needed}")]
            assert len(values) == 1 and values[0], needed
        assert (one.findtext(f"{{{ATOM}}}id") or "").startswith("urn:uuid:")
        assert datetime.fromisoformat(one.findtext(f"{{{ATOM}}}updated") or "").tzinfo is not None
        assert all(link.get("href") for link in one.findall(f"{{{ATOM}}}link"))
    for one in found:
        assert [link.get("rel") for link in one.findall(f"{{{ATOM}}}link")] == ["alternate"]
    ids = [one.findtext(f"{{{ATOM}}}id") for one in [feed, *found]]
    assert len(set(ids)) == len(ids)


def test_two_pools_feeds_have_two_names() -> None:
    assert feed_id("Five Fens pool") != feed_id("Three Moors pool")
    assert feed_id("Five Fens pool", "2026-04", "1") != feed_id("Five Fens pool", "2026-04", "2")


def test_index_leads_to_editions_before_the_newest() -> None:
    html = as_html(months_page([APRIL, CORRECTED]))
    assert 'href="2026-05/edition-1/index.html"' in html
    assert 'href="2026-05/edition-2/index.html"' not in html
    assert "2026-04/edition-" not in html


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

"""A report's files on disk: older editions name the newer one, a draft loses its marks by a swap of words alone."""

from __future__ import annotations

from pathlib import Path

from pipeline.jobs.month.files.report_files import mark_published, mark_superseded, write_files
from reports.mail import mail_texts, published_mail
from reports.publish import moved_down, page_files
from reports.steps import month_pages
from tests.unit.reports.invented_month import invented_view


def test_an_older_edition_says_that_it_is_superseded(tmp_path: Path) -> None:
    pages = month_pages(invented_view(1))
    write_files(tmp_path / "edition-1", page_files(pages))
    mark_superseded(tmp_path / "edition-1", 2)
    for page in pages:
        assert "Superseded: edition 2" in (tmp_path / "edition-1" / page.path).read_text()
    assert 'href="../index.html"' in (tmp_path / "edition-1" / "index.html").read_text()
    assert not list(tmp_path.rglob("*.new"))


def test_a_published_draft_is_byte_for_byte_what_would_have_been_made_as_published(tmp_path: Path) -> None:
    draft, published = (invented_view(6, draft=draft) for draft in (True, False))
    write_files(tmp_path, page_files(month_pages(draft)))
    write_files(tmp_path / "edition-1", page_files(month_pages(draft)[:1]))
    mark_published(tmp_path, ("edition-*",))
    for name, content in page_files(month_pages(published)):
        assert (tmp_path / name).read_bytes() == content, name
    assert "Draft: for" in (tmp_path / "edition-1" / "index.html").read_text(), (
        "other editions keep their marks"
    )
    mails = mail_texts(draft)
    assert {member: published_mail(text) for member, text in mails.items()} == mail_texts(published) != mails


def test_links_are_led_on_from_an_older_editions_folder() -> None:
    page = '<a href="edition-1/index.html"><a href="../feed.xml"><a href="members/x.html"><a href="#a">'
    assert moved_down(page, 0) == (
        '<a href="../edition-1/index.html"><a href="../../feed.xml"><a href="members/x.html"><a href="#a">'
    )
    own = '<a href="../index.html"><a href="../edition-1/index.html"><a href="../../2026-02/index.html">'
    assert moved_down(own, 1) == (
        '<a href="../index.html"><a href="../../edition-1/index.html"><a href="../../../2026-02/index.html">'
    )

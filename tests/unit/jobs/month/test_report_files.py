"""A report's files on disk: pages of growers who left go, older editions name the newer one."""

from __future__ import annotations

from pathlib import Path

from pipeline.jobs.month.report_files import mark_superseded, write_pages
from reports.steps import month_pages
from tests.unit.reports.invented_month import invented_view


def test_pages_of_growers_who_left_are_taken_away(tmp_path: Path) -> None:
    (tmp_path / "members").mkdir()
    (tmp_path / "members" / "gone.html").write_text("old")
    (tmp_path / "pool.csv").write_text("kept")
    write_pages(month_pages(invented_view(1)), tmp_path)
    assert not (tmp_path / "members" / "gone.html").exists()
    assert (tmp_path / "pool.csv").read_text() == "kept"
    assert not list(tmp_path.rglob("*.new"))


def test_an_older_edition_says_that_it_is_superseded(tmp_path: Path) -> None:
    write_pages(month_pages(invented_view(1)), tmp_path / "edition-1")
    mark_superseded(tmp_path / "edition-1", 2)
    for path in (tmp_path / "edition-1").rglob("*.html"):
        assert "Superseded: edition 2" in path.read_text()
    assert 'href="../index.html"' in (tmp_path / "edition-1" / "index.html").read_text()

"""The index over months and the mails: which months are drafts, and whose mail lies where."""

from __future__ import annotations

import json
from pathlib import Path

from pipeline.jobs.month.index_and_mails import MAILS, month_entries, write_index, write_mails
from tests.unit.reports.invented_month import invented_view


def made_month(pool: Path, month: str, is_open: bool, edition: int = 1) -> None:
    folder = pool / "reports" / month
    folder.mkdir(parents=True)
    results = {**invented_view(6).results, "month": month, "open": is_open, "edition": edition}
    (folder / "results.json").write_text(json.dumps(results), encoding="utf-8")


def test_months_stand_in_order_and_an_unpublished_ended_month_is_a_draft(pool: Path) -> None:
    made_month(pool, "2026-05", is_open=True)
    made_month(pool, "2026-03", is_open=False)
    (pool / "reports" / "feed").mkdir()
    entries = month_entries(pool)
    assert [entry.results["month"] for entry in entries] == ["2026-03", "2026-05"]
    assert [entry.draft for entry in entries] == [True, False]


def test_a_pool_without_months_has_an_index_without_entries(pool: Path) -> None:
    assert month_entries(pool) == []
    assert write_index(pool).is_file()


def test_the_index_leads_to_every_month(pool: Path) -> None:
    made_month(pool, "2026-03", is_open=False)
    made_month(pool, "2026-04", is_open=True)
    page = write_index(pool)
    text = page.read_text(encoding="utf-8")
    assert page.parent == pool / "reports"
    assert 'href="2026-03/' in text and 'href="2026-04/' in text


def test_each_contributor_has_a_mail_of_this_run_only(tmp_path: Path) -> None:
    view = invented_view(6)
    stale = tmp_path / MAILS / view.month / "gone-1.txt"
    stale.parent.mkdir(parents=True)
    stale.write_text("of an earlier run", encoding="utf-8")
    folder = write_mails(tmp_path, view)
    assert folder == tmp_path / MAILS / view.month
    assert {path.stem for path in folder.iterdir()} == set(view.runs["member"].unique())


def test_a_month_of_nobody_writes_an_empty_folder(tmp_path: Path) -> None:
    assert list(write_mails(tmp_path, invented_view(0)).iterdir()) == []

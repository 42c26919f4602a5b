"""The index over months and the mails: which months are drafts, and whose mail lies where."""

from __future__ import annotations

import json
from pathlib import Path

from pipeline.jobs.month.files.index_and_mails import (
    MAILS,
    earlier_results,
    month_entries,
    months_made,
    publish_mails,
    write_index,
    write_mails,
)
from reports.mail import mail_texts
from tests.unit.reports.invented_month import invented_view


def made_month(pool: Path, month: str, is_open: bool, edition: int = 1) -> None:
    """The results of a month as they lie under `reports/`."""
    folder = pool / "reports" / month
    folder.mkdir(parents=True)
    results = {**invented_view(6).results, "month": month, "open": is_open, "edition": edition}
    (folder / "results.json").write_text(json.dumps(results), encoding="utf-8")


def test_months_stand_in_order_and_an_unpublished_ended_month_is_a_draft(tmp_path: Path) -> None:
    made_month(tmp_path, "2026-05", is_open=True)
    made_month(tmp_path, "2026-03", is_open=False)
    (tmp_path / "reports" / "feed").mkdir()
    assert months_made(tmp_path) == ["2026-03", "2026-05"]
    entries = month_entries(tmp_path, [])
    assert [(entry.results["month"], entry.draft) for entry in entries] == [
        ("2026-03", True),
        ("2026-05", False),
    ]
    assert [entry.address for entry in entries] == ["2026-03/index.html", "2026-05/index.html"]


def test_earlier_months_are_those_before(tmp_path: Path) -> None:
    for month in ("2025-12", "2026-02", "2026-03"):
        made_month(tmp_path, month, is_open=False)
    earlier = earlier_results(tmp_path, [], "2026-03")
    assert [results["month"] for results in earlier] == ["2025-12", "2026-02"]
    assert earlier_results(tmp_path, [], "2025-12") == ()


def test_a_pool_without_months_has_an_index_without_entries(tmp_path: Path) -> None:
    assert month_entries(tmp_path, []) == []
    assert write_index(tmp_path, []).is_file()


def test_the_index_leads_to_every_month(tmp_path: Path) -> None:
    made_month(tmp_path, "2026-03", is_open=False)
    made_month(tmp_path, "2026-04", is_open=True)
    page = write_index(tmp_path, [])
    text = page.read_text(encoding="utf-8")
    assert page.parent == tmp_path / "reports"
    assert 'href="2026-03/' in text and 'href="2026-04/' in text


def test_each_contributor_has_a_mail_of_this_run_only(tmp_path: Path) -> None:
    view = invented_view(6)
    write_mails(tmp_path, view.month, {"gone-1": "of an earlier run"})
    write_mails(tmp_path, view.month, mail_texts(view))
    assert {path.stem for path in (tmp_path / MAILS / view.month).iterdir()} == set(
        view.runs["member"].unique()
    )


def test_a_month_of_nobody_writes_an_empty_folder(tmp_path: Path) -> None:
    write_mails(tmp_path, "2026-05", mail_texts(invented_view(0)))
    assert list((tmp_path / MAILS / "2026-05").iterdir()) == []


def test_publishing_takes_the_words_of_a_draft_out_of_every_mail(tmp_path: Path) -> None:
    drafts, published = (mail_texts(invented_view(6, draft=draft)) for draft in (True, False))
    assert drafts != published
    write_mails(tmp_path, "2026-05", drafts)
    publish_mails(tmp_path, "2026-05")
    folder = tmp_path / MAILS / "2026-05"
    assert {path.stem: path.read_text(encoding="utf-8") for path in folder.iterdir()} == published
    publish_mails(tmp_path, "2026-05")
    assert {path.stem: path.read_text(encoding="utf-8") for path in folder.iterdir()} == published


def test_a_month_without_mails_has_none_to_publish(tmp_path: Path) -> None:
    publish_mails(tmp_path, "2026-05")
    assert not (tmp_path / MAILS).exists()

"""The demo as a newcomer runs it: one command, three months, a page to open."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest

from tests.story.pool_fixture import DemoPool, drainpool, small_sheet, write

MONTHS = ("2026-03", "2026-04", "2026-05")


def test_the_demo_ends_with_the_page_to_open(demo_pool: DemoPool) -> None:
    last = demo_pool.said.rstrip("\n").splitlines()[-1]
    page = Path(last.removeprefix("Open: "))
    assert page.is_absolute() and page == (demo_pool.folder / "reports" / MONTHS[-1] / "index.html").resolve()
    assert "Invented data: not growing advice" in page.read_text(encoding="utf-8")
    assert "Traceback" not in demo_pool.progress


def test_every_month_is_made_and_says_that_it_is_invented(demo_pool: DemoPool) -> None:
    for month in MONTHS:
        results = demo_pool.results(month)
        assert results["invented"] is True and results["open"] is False and results["edition"] == 1
        assert results["settings"]["pool_name"] != "The pool"
    runs = [demo_pool.results(month)["counts"]["runs"] for month in MONTHS]
    assert runs == sorted(runs) and runs[0] < runs[-1], "months are cumulative"
    assert demo_pool.results(MONTHS[-1])["counts"]["members"] >= 24


def test_every_month_is_published(demo_pool: DemoPool) -> None:
    for month in MONTHS:
        page = (demo_pool.folder / "reports" / month / "index.html").read_text(encoding="utf-8")
        assert "Draft: for the contributors" not in page


def test_nothing_is_left_in_the_inbox(demo_pool: DemoPool) -> None:
    assert list((demo_pool.folder / "inbox").iterdir()) == []


def test_the_flow_kept_its_records_inside_the_pool(demo_pool: DemoPool) -> None:
    records = sqlite3.connect(demo_pool.folder / ".prefect" / "prefect.db")
    with records:
        flows = records.execute("SELECT name, state_type FROM flow_run ORDER BY name").fetchall()
        links = records.execute("SELECT COUNT(*) FROM artifact").fetchone()[0]
        (tasks,) = records.execute("SELECT COUNT(*) FROM task_run WHERE state_type = 'COMPLETED'").fetchone()
    records.close()
    assert flows == [(month, "COMPLETED") for month in MONTHS]
    assert links == 9 and tasks >= 12


@pytest.mark.deep
def test_again_in_the_same_folder_changes_nothing_whatever_else_lies_there(
    demo_pool: DemoPool, tmp_path: Path
) -> None:
    pool = tmp_path / "drainpool-demo"
    shutil.copytree(demo_pool.folder, pool)
    before = {month: (pool / "reports" / month / "results.json").read_bytes() for month in MONTHS}
    journal = (pool / "journal.jsonl").read_bytes()
    (tmp_path / "timeit.py").write_text("raise SystemExit('somebody else’s file')\n", encoding="utf-8")
    (tmp_path / ".env").write_text("PREFECT_SERVER_API_PORT=none\n", encoding="utf-8")
    done = drainpool("demo", cwd=tmp_path, env={"PREFECT_API_URL": "http://127.0.0.1:9/api"})
    assert done.returncode == 0, done.stderr
    assert (pool / "journal.jsonl").read_bytes() == journal
    assert {month: (pool / "reports" / month / "results.json").read_bytes() for month in MONTHS} == before


def test_the_demo_does_not_touch_a_pool_of_your_own(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    drainpool("load", write(tmp_path, "a.csv", small_sheet()), "--pool", pool)
    journal = (pool / "journal.jsonl").read_bytes()
    done = drainpool("demo", "--pool", pool)
    assert done.returncode == 3 and "of your own" in done.stderr
    assert (pool / "journal.jsonl").read_bytes() == journal


@pytest.mark.deep
def test_any_part_of_the_demo_can_be_asked_for(demo_pool: DemoPool) -> None:
    for words in (
        ("--by", "grade"),
        ("--by", "setup"),
        ("--setup", "cut_cup,other"),
        ("--climate", "C", "--pot-volume", "0.5l..2l"),
        ("--setup", "sieve,cut_cup", "--format", "csv"),
        ("--since", "2026-04-01", "--until", "2026-04-30", "--by", "pot", "--format", "json"),
    ):
        done = drainpool("query", "--pool", demo_pool.folder, *words)
        assert done.returncode == 0 and done.stdout, done.stderr


def test_a_question_ends_with_a_passage_for_a_mail(demo_pool: DemoPool) -> None:
    """Filter, counts and date can't be lost from it; a part that is too small says what is missing."""
    told = drainpool("query", "--pool", demo_pool.folder, "--climate", "Csb", "--grade", "fine").stdout
    passage = told.split("To paste into a mail:")[1]
    for word in ("Invented data", "Climate Csb; grade fine", "growers,", "as of 2", "so few"):
        assert word in passage
    levels = drainpool("query", "--pool", demo_pool.folder, "--by", "grade").stdout
    assert "how many times the ratio of one level is that of another" in levels

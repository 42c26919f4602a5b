"""Clearing a member out of reports, logs and the inbox: every spelling of theirs, and nothing of others."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.jobs.keeping.erasing import clear_inbox, clear_logs, clear_reports, erase_member
from pipeline.jobs.month.files.folder import REPORTS
from pipeline.jobs.month.files.index_and_mails import MAILS
from pipeline.load.views.reading import runs_in_force
from schemas.trade.labels import label_key, mentions
from tests.rounds import examples
from tests.story.pool_fixture import small_sheet

KEY = "fen-07"
SPELLINGS = ("fen-07", "FEN-07", "Fen\u201107", "fen\u201307", "f\u00aden-07")
OTHERS = ("fen-070", "afen-07", "fen-7", "otter-3")


@pytest.fixture
def month(tmp_path: Path) -> Path:
    """A pool's folder with one month: a page that names the member, own pages, pool files, a mail, a picture."""
    folder = tmp_path / REPORTS / "2026-03"
    (folder / "growers").mkdir(parents=True)
    (tmp_path / MAILS / "2026-03").mkdir(parents=True)
    (folder / "growers" / "fen-07.html").write_text("own page", encoding="utf-8")
    (folder / "growers" / "fen-070.html").write_text("another's page", encoding="utf-8")
    (folder / "index.html").write_text("<td>Fen\u201107</td><td>fen-070</td>", encoding="utf-8")
    (folder / "results.json").write_text('{"behind": "fen-07"}', encoding="utf-8")
    (folder / "growers.svg").write_text("<svg><text>FEN-07</text></svg>", encoding="utf-8")
    (folder / "growers.png").write_bytes(b"\x89PNG\xff")
    (folder / "curve.svg").write_text("<svg><text>40 %</text></svg>", encoding="utf-8")
    rows = pl.DataFrame({"member": [*SPELLINGS, *OTHERS], "rate": [1.0] * 9})
    rows.write_csv(folder / "pool.csv")
    rows.write_parquet(folder / "pool.parquet")
    (tmp_path / MAILS / "2026-03" / "Fen-07.txt").write_text("Dear fen-07", encoding="utf-8")
    (tmp_path / MAILS / "2026-03" / "otter-3.txt").write_text("Dear otter-3", encoding="utf-8")
    return tmp_path


def test_nothing_under_reports_names_the_member_any_more(month: Path) -> None:
    clear_reports(month, KEY)
    folder = month / REPORTS / "2026-03"
    for path in [*folder.rglob("*.html"), *folder.rglob("*.svg"), *(month / MAILS).rglob("*.txt")]:
        assert not mentions(path.stem, KEY) and not mentions(path.read_text(encoding="utf-8"), KEY), path
    assert pl.read_csv(folder / "pool.csv")["member"].to_list() == list(OTHERS)
    assert pl.read_parquet(folder / "pool.parquet")["member"].to_list() == list(OTHERS)


def test_what_is_others_stays_and_results_stay(month: Path) -> None:
    clear_reports(month, KEY)
    folder = month / REPORTS / "2026-03"
    assert (folder / "growers" / "fen-070.html").read_text(encoding="utf-8") == "another's page"
    assert "fen-070" in (folder / "index.html").read_text(encoding="utf-8")
    assert (folder / "curve.svg").exists()
    assert (folder / "results.json").read_text(encoding="utf-8") == '{"behind": "fen-07"}'
    assert (month / MAILS / "2026-03" / "otter-3.txt").exists()


def test_a_picture_that_names_the_member_goes_with_its_copy_for_mails(month: Path) -> None:
    clear_reports(month, KEY)
    folder = month / REPORTS / "2026-03"
    assert not (folder / "growers.svg").exists() and not (folder / "growers.png").exists()


def test_clearing_twice_is_clearing_once(month: Path) -> None:
    clear_reports(month, KEY)
    once = {path: path.read_bytes() for path in sorted(month.rglob("*")) if path.is_file()}
    clear_reports(month, KEY)
    assert {path: path.read_bytes() for path in sorted(month.rglob("*")) if path.is_file()} == once


@settings(max_examples=examples(0.2))
@given(st.lists(st.sampled_from([*SPELLINGS, *OTHERS]), min_size=1, max_size=5))
def test_logs_keep_every_line_but_not_the_code(
    tmp_path_factory: pytest.TempPathFactory, codes: list[str]
) -> None:
    pool = tmp_path_factory.mktemp("logs")
    log = pool / "failures.log"
    log.write_text("".join(f"load {code}.csv failed\n" for code in codes), encoding="utf-8")
    clear_logs(pool, KEY)
    text = log.read_text(encoding="utf-8")
    assert not mentions(text, KEY)
    assert text.count("\n") == len(codes)
    for code in codes:
        assert mentions(text, label_key(code)) == (label_key(code) != KEY)


def in_inbox(pool: Path, name: str, text: str, beside: str = "") -> Path:
    (pool / "inbox").mkdir(exist_ok=True)
    path = pool / "inbox" / name
    path.write_text(text, encoding="utf-8")
    if beside:
        path.with_name(f"{name}.received").write_text(beside, encoding="utf-8")
    return path


def test_sheets_of_the_member_leave_the_inbox_with_their_notes(tmp_path: Path) -> None:
    own = in_inbox(tmp_path, "a.csv", small_sheet("FEN\u201107"), "2026-03-14T09:26:53Z\n")
    held = in_inbox(tmp_path, "b.csv", small_sheet("fen-07", poured="300"))
    other = in_inbox(tmp_path, "c.csv", small_sheet("otter-3"))
    clear_inbox(tmp_path, KEY, lambda _line: None)
    assert sorted(path.name for path in (tmp_path / "inbox").iterdir()) == ["c.csv"]
    assert not own.exists() and not held.exists() and other.exists()


def test_a_sheet_that_the_member_sent_goes_even_if_it_cannot_be_read(tmp_path: Path) -> None:
    sent = '2026-03-14T09:26:53Z\n{"file": "x.csv", "by": "Fen-07"}\n'
    path = in_inbox(tmp_path, "a.csv", "<!DOCTYPE html><html></html>", sent)
    clear_inbox(tmp_path, KEY, lambda _line: None)
    assert not path.exists()


def test_a_shared_sheet_stays_and_is_said(tmp_path: Path) -> None:
    shared = small_sheet("fen-07") + small_sheet("otter-3").split("\r\n", 1)[1]
    path = in_inbox(tmp_path, "club.csv", shared)
    said: list[str] = []
    clear_inbox(tmp_path, KEY, said.append)
    assert path.exists()
    assert len(said) == 1 and "club.csv" in said[0] and "other members" in said[0]


def test_a_pool_without_an_inbox_needs_no_clearing(tmp_path: Path) -> None:
    clear_inbox(tmp_path, KEY, lambda _line: None)


def test_an_erased_member_is_nowhere_and_others_stand(pool: Path) -> None:
    before = runs_in_force(pool).filter(pl.col("member_key") != KEY).height
    gone = erase_member(pool, "FEN\u201307", "asked by the member", "tests", lambda _line: None)
    assert (gone.runs, gone.sheets) == (2, 1)
    assert runs_in_force(pool).height == before
    for path in pool.rglob("*"):
        if path.is_file() and path.suffix in (".jsonl", ".txt", ".csv", ".log"):
            assert not mentions(path.read_text(encoding="utf-8"), KEY), path

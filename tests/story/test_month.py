"""The month as a coordinator runs it, on a small pool of our own: inbox, editions, bytes, failures."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import polars as pl
import pytest

from tests.story.pool_fixture import drainpool, read_results, small_sheet, write

MARCH, APRIL = "2026-03", "2026-04"


@pytest.fixture(scope="module")
def march(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A pool whose March was run with two sheets in the inbox, one with its moment beside it."""
    pool = tmp_path_factory.mktemp("month") / "pool"
    inbox = pool / "inbox"
    inbox.mkdir(parents=True)
    write(inbox, "a.csv", small_sheet("m-a", ("20", "40"), notes="at 3 Mill Lane", series="=cmd"))
    write(inbox, "b.csv", small_sheet("m-b"))
    write(inbox, "b.csv.received", "2026-03-20T10:00:00Z\n")
    write(inbox, "photo.jpg", "x")
    done = drainpool("month", MARCH, "--pool", pool, "--by-whom", "Ann")
    assert done.returncode == 0, done.stderr
    (pool / "said.txt").write_text(done.stdout + "\n---\n" + done.stderr)
    return pool


@pytest.fixture
def pool(march: Path, tmp_path: Path) -> Path:
    """A copy to change."""
    shutil.copytree(march, tmp_path / "pool")
    return tmp_path / "pool"


def bytes_of(pool: Path, month: str = MARCH, edition: str = "") -> bytes:
    return (pool / "reports" / month / edition / "results.json").read_bytes()


def test_what_a_month_leaves(march: Path) -> None:
    left = {path.name for path in (march / "reports" / MARCH).iterdir()}
    assert {"index.html", "results.json", "pool.csv", "pool.parquet"} <= left
    assert [path.name for path in (march / "inbox").iterdir()] == ["photo.jpg"]


def test_what_it_says(march: Path) -> None:
    said, progress = (march / "said.txt").read_text().split("\n---\n")
    assert "2 growers, 2 series, 5 runs" in said and "too_few" in said
    assert said.splitlines()[-1].startswith("Open: /") and said.splitlines()[-1].endswith("index.html")
    assert "photo.jpg" in progress and "Traceback" not in progress
    assert "a.csv: Counted as received at the end of 2026-03" in progress and "b.csv: Counted" not in progress


def test_results_as_the_contract_says(march: Path) -> None:
    results = read_results(march, MARCH)
    assert {
        "month",
        "open",
        "edition",
        "as_of",
        "invented",
        "scope",
        "counts",
        "settings",
        "components",
    } <= set(results)
    assert (results["month"], results["open"], results["edition"]) == (MARCH, False, 1)
    assert results["as_of"] == "2026-03-31T23:59:59Z" and results["invented"] is False
    assert results["counts"] == {"members": 2, "series": 2, "runs": 5, "held": 0}
    raw = bytes_of(march)
    assert raw.endswith(b"}\n") and b"NaN" not in raw
    for word in (str(march), "drainpool", "Ann"):
        assert word.encode() not in raw


def test_the_public_files_keep_places_and_notes_private(march: Path) -> None:
    folder = march / "reports" / MARCH
    frame = pl.read_parquet(folder / "pool.parquet")
    assert frame.height == 5
    assert not {"notes", "peat_lot", "component_lot"} & set(frame.columns)
    assert frame["climate_zone"].null_count() == 5, "two members: written by nothing"
    assert frame["tested_on"].unique().to_list() == [MARCH]
    assert set(frame["series"]) == {"'=cmd", "bench A"}
    everything = b"".join(
        path.read_bytes() for path in folder.rglob("*") if path.suffix in {".html", ".csv", ".json"}
    )
    assert b"Mill Lane" not in everything


def test_running_again_gives_the_same_bytes_whatever_came_since(pool: Path) -> None:
    before = bytes_of(pool)
    drainpool("load", write(pool.parent, "c.csv", small_sheet("m-c")), "--pool", pool)
    drainpool("withdraw", "--pool", pool, "--member", "m-a", "--reason", "asked")
    (pool / "settings.toml").write_text("target_ratio = 2\n")
    assert drainpool("month", MARCH, "--pool", pool).returncode == 0
    assert bytes_of(pool) == before


def test_a_report_that_was_made_takes_no_more_sheets(pool: Path) -> None:
    sheet = write(pool.parent, "late.csv", small_sheet("m-late"))
    refused = drainpool("load", sheet, "--pool", pool, "--received", "2026-03-30")
    assert refused.returncode == 3 and "2026-04-01" in refused.stdout + refused.stderr
    assert drainpool("load", sheet, "--pool", pool, "--received", "2026-04-01").returncode == 0


def test_a_correction_is_a_new_edition_beside_the_old(pool: Path) -> None:
    before = bytes_of(pool)
    drainpool("withdraw", "--pool", pool, "--member", "m-b", "--reason", "asked")
    without_reason = drainpool("month", MARCH, "--pool", pool, "--correct")
    assert without_reason.returncode == 64 and bytes_of(pool) == before
    done = drainpool("month", MARCH, "--pool", pool, "--correct", "--reason", "a member left")
    assert done.returncode == 0, done.stderr
    results = read_results(pool, MARCH)
    assert results["edition"] == 2 and results["counts"]["members"] == 1
    assert bytes_of(pool, edition="edition-1") == before
    folder = pool / "reports" / MARCH
    assert "Superseded: edition 2" in (folder / "edition-1" / "index.html").read_text(encoding="utf-8")
    assert "Superseded: edition" not in (folder / "index.html").read_text(encoding="utf-8")
    second = bytes_of(pool)
    shutil.rmtree(pool / "reports")
    assert drainpool("month", MARCH, "--pool", pool).returncode == 0
    assert (bytes_of(pool), bytes_of(pool, edition="edition-1")) == (second, before)


def test_a_correction_stands_beside_what_readers_saw(pool: Path) -> None:
    drainpool("month", MARCH, "--pool", pool, "--publish")
    drainpool("withdraw", "--pool", pool, "--member", "m-b", "--reason", "asked")
    for reason in ("a member left", "typed again"):
        drainpool("month", MARCH, "--pool", pool, "--correct", "--reason", reason)
    html = (pool / "reports" / MARCH / "index.html").read_text(encoding="utf-8")
    assert read_results(pool, MARCH)["edition"] == 2, "one change, one edition, however often it is typed"
    assert "Runs: 2 withdrawn." in html and "1 fewer grower" in html
    assert "a member left" not in html and "typed again" not in html, "what is typed by hand stays private"
    assert 'href="edition-1/index.html"' in html


def test_a_draft_until_published(pool: Path) -> None:
    index = pool / "reports" / MARCH / "index.html"
    assert "Draft" in index.read_text(encoding="utf-8")
    before = bytes_of(pool)
    assert drainpool("month", MARCH, "--pool", pool, "--publish").returncode == 0
    assert "Draft" not in index.read_text(encoding="utf-8") and bytes_of(pool) == before


def test_a_failure_is_worded_and_leaves_the_old_month(pool: Path) -> None:
    write(pool, "settings.toml", "target_ratio = 'half'\n")
    before = bytes_of(pool)
    done = drainpool("month", APRIL, "--pool", pool)
    assert done.returncode == 3 and done.stdout == ""
    assert "half" in done.stderr and "Traceback" not in done.stderr
    assert bytes_of(pool) == before and not (pool / "reports" / APRIL).exists()


def test_a_moment_that_cannot_be_read_stops_only_its_own_sheet(pool: Path) -> None:
    write(pool / "inbox", "d.csv", small_sheet("m-d"))
    write(pool / "inbox", "d.csv.received", "yesterday\n")
    done = drainpool("month", APRIL, "--pool", pool)
    assert done.returncode == 0 and "yesterday" in done.stderr and "Traceback" not in done.stderr
    assert (pool / "inbox" / "d.csv").exists() and (pool / "reports" / APRIL).exists()


def test_the_running_month_is_marked_open(tmp_path: Path) -> None:
    from datetime import UTC, datetime

    pool, month = tmp_path / "pool", f"{datetime.now(UTC):%Y-%m}"
    drainpool("load", write(tmp_path, "a.csv", small_sheet()), "--pool", pool)
    runs = [drainpool("month", month, "--pool", pool) for _ in range(2)]
    assert [one.returncode for one in runs] == [0, 0], runs[0].stderr
    results = read_results(pool, month)
    last = json.loads((pool / "journal.jsonl").read_text().splitlines()[-1])
    assert results["open"] is True and results["as_of"] == last["at"]
    assert "still running" in (pool / "reports" / month / "index.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("words", [("2999-01",), ("2026-3",), (MARCH, "--reason", "because")])
def test_wrong_use(words: tuple[str, ...], tmp_path: Path) -> None:
    done = drainpool("month", *words, "--pool", tmp_path / "pool")
    assert done.returncode == 64 and not (tmp_path / "pool").exists()

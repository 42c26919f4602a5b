"""What `verify` says of the files beside the truth, and which one command heals them."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.errors import DrainpoolError
from pipeline.jobs.keeping.erasing import erase_member
from pipeline.jobs.keeping.steps import backup_pool, rebuild_pool, restore_pool, verify_pool
from tests.store.month_by_hand import contents, made, pool_of, quiet
from tests.story.pool_fixture import drainpool, small_sheet, write

MARCH = "2026-03"


@pytest.fixture(scope="module")
def march(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three growers, March made as a draft."""
    pool = pool_of(tmp_path_factory.mktemp("march"), "fen-01", "fen-02", "fen-03")
    made(pool, MARCH)
    return pool


@pytest.fixture
def pool(march: Path, tmp_path: Path) -> Path:
    shutil.copytree(march, tmp_path / "pool")
    return tmp_path / "pool"


def findings(pool: Path) -> list[tuple[str, bool]]:
    return [(f"{one.where}: {one.words}", one.damage) for one in verify_pool(pool, "Ann", quiet)]


def stranger_in_the_rows(pool: Path) -> None:
    path = pool / "reports" / MARCH / "pool.csv"
    path.write_text(path.read_text().replace("fen-03", "gone-77"))


def stranger_with_a_page(pool: Path) -> None:
    page = pool / "reports" / MARCH / "members" / "fen-01.html"
    shutil.copyfile(page, page.with_name("gone-77.html"))


def mail_to_a_stranger(pool: Path) -> None:
    (pool / "mails" / MARCH / "gone-77.txt").write_text("Hello")


@pytest.mark.parametrize(
    ("broken", "words"),
    [
        (
            lambda pool: (pool / "reports" / MARCH / "page.css").unlink(),
            "page.css: it is not there, and ",
        ),
        (lambda pool: (pool / "reports" / MARCH / "pool.parquet").write_bytes(b"PAR1"), "can't be read"),
        (stranger_in_the_rows, "names somebody whom the pool does not hold"),
        (stranger_with_a_page, "a page of somebody whom the pool does not hold"),
        (mail_to_a_stranger, "a mail to somebody whom the pool does not hold"),
    ],
)
def test_a_broken_report_is_damage_and_the_month_heals_it(
    pool: Path, broken: Callable[[Path], object], words: str
) -> None:
    before = contents(pool / "reports")
    assert findings(pool) == []
    broken(pool)
    found = findings(pool)
    assert found and all(words in text and damage for text, damage in found), found
    made(pool, MARCH)
    assert findings(pool) == [] and contents(pool / "reports") == before


def test_records_of_the_flow_that_are_broken_are_named(pool: Path) -> None:
    (pool / ".prefect").mkdir(exist_ok=True)
    (pool / ".prefect" / "prefect.db").write_bytes(b"SQLite format 3\x00" + b"x" * 4096)
    ((words, damage),) = findings(pool)
    assert damage and "delete this file" in words and words.startswith(".prefect/prefect.db")


def test_a_lost_receipt_is_named_and_made_again_with_the_same_bytes(pool: Path) -> None:
    drainpool("load", write(pool.parent, "m.csv", small_sheet("fen-01", drain_time="3:33")), "--pool", pool)
    before = contents(pool / "receipts")
    assert len(before) == 4 and any(b"mended" in text for text in before.values())
    shutil.rmtree(pool / "receipts")
    found = findings(pool)
    assert len(found) == 4 and all("drainpool rebuild" in words and not damage for words, damage in found)
    rebuild_pool(pool, quiet)
    assert contents(pool / "receipts") == before
    assert findings(pool) == []


def test_the_command_typed_again_makes_a_receipt_that_a_kill_cost(pool: Path) -> None:
    sheet = write(pool.parent, "m.csv", small_sheet("fen-09"))
    drainpool("load", sheet, "--pool", pool)
    (path,) = [one for one in (pool / "receipts").rglob("*.txt") if b"m.csv" in one.read_bytes()]
    before = path.read_bytes()
    path.unlink()
    drainpool("load", sheet, "--pool", pool)
    assert path.read_bytes() == before


def test_a_receipt_of_nobody_is_a_note_and_one_of_somebody_erased_is_damage(pool: Path) -> None:
    (pool / "receipts" / MARCH / "000099-abc.txt").write_text("?")
    ((words, damage),) = findings(pool)
    assert "no journal line speaks of this receipt" in words and not damage
    (path,) = [one for one in (pool / "receipts").rglob("*.txt") if b"fen-02.csv" in one.read_bytes()]
    kept = path.read_bytes()
    erase_member(pool, "fen-02", "asked", "Ann", quiet)
    path.write_bytes(kept)
    assert any("was erased; delete it" in words and damage for words, damage in findings(pool))


def test_erasing_searches_everything_and_says_where_others_still_name_the_member(pool: Path) -> None:
    (pool / "failures.log").write_text("drainpool erase --member FEN-02\n")
    (pool / "inbox" / "fen-02").mkdir(parents=True)
    (pool / "desk" / "runs").mkdir(parents=True)
    (pool / "desk" / "runs" / "20260401T000000-2026-03.log").write_text("Left in the inbox: fen-02.csv\n")
    (pool / "settings.toml").write_text((pool / "settings.toml").read_text() + "# fen-02 pays the postage\n")
    done = drainpool("erase", "--pool", pool, "--member", "fen-02", "--reason", "asked")
    assert done.returncode == 0, done.stderr
    assert "Searched: journal, archive, store" in done.stdout and "1 file that others" in done.stdout
    assert "settings.toml" in done.stdout
    assert not (pool / "inbox" / "fen-02").exists()
    naming = [
        name for name, content in contents(pool).items() if b"fen-02" in content.lower() or "fen-02" in name
    ]
    assert naming == ["settings.toml"]


def test_a_damaged_pool_is_not_backed_up(pool: Path, tmp_path: Path) -> None:
    sheet = max((pool / "archive").rglob("*.csv"))
    sheet.write_bytes(b"x" + sheet.read_bytes()[1:])
    with pytest.raises(DrainpoolError, match=r"is damaged: archive/.*Nothing was written"):
        backup_pool(pool, tmp_path / "b", quiet)
    assert not (tmp_path / "b").exists()


@pytest.mark.parametrize("name", ["journal.jsonl", "archive"])
def test_a_damaged_backup_is_restored_not_at_all(pool: Path, tmp_path: Path, name: str) -> None:
    backup_pool(pool, tmp_path / "b", quiet)
    whole = (tmp_path / "b").read_bytes()
    path = pool / name if name.endswith("l") else max((pool / "archive").rglob("*.csv"))
    at = whole.index(path.read_bytes()) + 40
    (tmp_path / "b").write_bytes(whole[:at] + b"#" + whole[at + 1 :])
    with pytest.raises(DrainpoolError, match="Nothing was restored"):
        restore_pool(tmp_path / "b", tmp_path / "second", quiet)
    assert not (tmp_path / "second").exists() and not list(tmp_path.glob(".second*"))
    (tmp_path / "b").write_bytes(whole)
    restore_pool(tmp_path / "b", tmp_path / "second", quiet)
    assert contents(tmp_path / "second" / "reports") == contents(pool / "reports")

"""Rebuild, verify, erase, backup, against a real pool on disk."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import duckdb
import pytest

from pipeline.errors import DrainpoolError
from pipeline.load.changes.decisions import withdraw
from pipeline.load.changes.editions import begin_edition, cutoff_of
from pipeline.load.changes.erasing import Erased, erase
from pipeline.load.database import kept_rows, store
from pipeline.load.database.upgrade import read_differently
from pipeline.load.keeping.backing_up import backup, restore_backup
from pipeline.load.keeping.rebuilding import rebuild
from pipeline.load.keeping.verifying import Finding, journal_findings, store_findings
from pipeline.load.truth import archive, journal
from pipeline.load.truth.records import Selection
from pipeline.load.views.reading import runs_in_force, view
from tests.store.plain_sheets import Clock, check, opened, send, sheet

MINE = sheet(
    ("fen-07", "spring", 0, 1, 1, 100),
    ("fen-07", "spring", 40, 1, 1, "soon"),
    ("fen-07", "spring", 40, 2, 1, 62),
)
SHARED = sheet(
    ("fen-07", "club day", 0, 1, 1, 80), ("m2", "club day", 0, 1, 1, 81), ("m2", "club day", 40, 1, 1, "x")
)
OTHER = sheet(("m2", "x", 0, 1, 1, 9))


def quiet(_words: str) -> None:
    """Says nothing."""


@pytest.fixture
def pool(tmp_path: Path) -> Path:
    """Three sheets, one mended, one withdrawal, one finished month."""
    folder = tmp_path / "pool"
    clock = Clock()
    with opened(folder, clock) as writer:
        send(writer, ("fen-07.csv", MINE), ("club.csv", SHARED), ("m2.csv", OTHER))
        clock.at(2026, 3, 12)
        send(writer, ("fen-07 again.csv", sheet(("fen-07", "spring", 0, 1, 1, 101))))
        withdraw(writer, Selection(member="m2", series="x"), "m2 saw a leak")
        clock.at(2026, 4, 2)
        begin_edition(writer, "2026-03")
    return folder


def findings(folder: Path) -> list[Finding]:
    with opened(folder, settings=None) as writer:
        return store_findings(writer)


def damage(folder: Path) -> list[tuple[str, str]]:
    return [(found.where, found.words) for found in findings(folder) if found.damage]


def content(folder: Path) -> dict[str, list[tuple[object, ...]]]:
    """Every table of the store, rows in order."""
    with store.reading(folder) as connection:
        tables = ("meta", "journal", "receipts", "runs", "held")
        return {name: sorted(store.frame(connection, f"FROM {name}").rows(), key=repr) for name in tables}


def test_a_whole_pool_verifies_clean(pool: Path) -> None:
    assert journal_findings(pool) == []
    assert findings(pool) == []


def test_rebuild_makes_the_same_store_content_for_content(pool: Path) -> None:
    before, seen = content(pool), view(pool)
    for name in (store.STORE, store.PUBLISHED):
        path = pool / name
        shutil.rmtree(path) if path.is_dir() else path.unlink()
    rebuilt = rebuild(pool, recheck=check, say=quiet)
    assert (rebuilt.receipts, rebuilt.runs) == (4, 6)
    assert content(pool) == before
    assert view(pool).runs.equals(seen.runs)
    assert damage(pool) == []


def other_check(files, today, settings):  # type: ignore[no-untyped-def]
    """Rules of another version: they read 63 where the plain check reads 62."""
    return check([(name, content.replace(b"62", b"63")) for name, content, *_ in files], today, settings)


def test_what_was_read_stays_read_whatever_todays_rules_say(pool: Path) -> None:
    before, seen = content(pool), view(pool).runs
    rebuild(pool, recheck=other_check, say=quiet)
    assert content(pool) == before
    assert view(pool).runs.equals(seen)
    with opened(pool) as writer:
        lines = list(writer.lines)
    assert read_differently(pool, lines, check) == []
    assert [one.number for one in read_differently(pool, lines, other_check)] == [3]


def rows_file(pool: Path) -> Path:
    return next(path for path in archive.walk(pool) if path.name.endswith(kept_rows.ENDING))


def test_kept_rows_that_were_changed_are_damage_and_stop_a_rebuild(pool: Path) -> None:
    path, before = rows_file(pool), content(pool)
    whole = path.read_bytes()
    path.write_bytes(whole[:-1] + bytes([whole[-1] ^ 1]))
    place = path.relative_to(pool).as_posix()
    assert damage(pool) == [
        (place, "the file of rows as they were read's bytes are not those that were received")
    ]
    with pytest.raises(DrainpoolError, match="missing or damaged"):
        rebuild(pool, recheck=check, say=quiet)
    assert content(pool) == before
    path.unlink()
    assert damage(pool) == [(place, "the file of rows as they were read is missing from the archive")]


@pytest.mark.parametrize("at", [3, 40, 300, -2, -200])
def test_one_flipped_byte_in_the_journal_is_named(pool: Path, at: int) -> None:
    path = pool / journal.JOURNAL
    whole = bytearray(path.read_bytes())
    whole[at] ^= 1
    path.write_bytes(bytes(whole))
    found = journal_findings(pool)
    line = bytes(whole[:at]).count(b"\n") + 1
    assert found
    assert found[0].where == f"journal.jsonl line {line}"
    with pytest.raises(DrainpoolError, match=f"journal.jsonl line {line}"), opened(pool):
        pass


def test_every_single_flipped_byte_of_a_small_journal_is_found(pool: Path) -> None:
    path = pool / journal.JOURNAL
    whole = path.read_bytes()
    missed = []
    for at in [*range(0, len(whole), 7), len(whole) - 1]:
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 4]) + whole[at + 1 :])
        if not journal_findings(pool):
            missed.append(at)
    assert missed == []


def a_sheet(pool: Path) -> Path:
    return next(path for path in archive.walk(pool) if not path.name.endswith(kept_rows.ENDING))


def test_one_flipped_byte_in_the_archive_is_named(pool: Path) -> None:
    path = a_sheet(pool)
    path.write_bytes(bytes([path.read_bytes()[0] ^ 1]) + path.read_bytes()[1:])
    assert damage(pool) == [
        (path.relative_to(pool).as_posix(), "the sheet's bytes are not those that were received")
    ]


def test_a_sheet_gone_from_the_archive_is_named(pool: Path) -> None:
    path = a_sheet(pool)
    path.unlink()
    assert damage(pool) == [(path.relative_to(pool).as_posix(), "the sheet is missing from the archive")]


def test_a_changed_number_in_the_store_is_named_by_receipt(pool: Path) -> None:
    connection = duckdb.connect(str(pool / store.STORE))
    connection.execute("UPDATE runs SET drain_time_s = drain_time_s + 1 WHERE receipt = 5")
    connection.execute("DELETE FROM held WHERE receipt = 3")
    connection.close()
    shutil.copyfile(pool / store.STORE, next((pool / store.PUBLISHED).iterdir()))
    assert damage(pool) == [
        ("pool.duckdb, receipt 3", "its held rows are not those that were loaded"),
        ("pool.duckdb, receipt 5", "its accepted rows are not those that were loaded"),
    ]
    rebuild(pool, recheck=check, say=quiet)
    assert damage(pool) == []


def test_a_sheet_archived_but_never_received_is_a_note(pool: Path) -> None:
    archive.put(pool, [(b"left over", ".csv")])
    (found,) = findings(pool)
    assert not found.damage
    assert "no journal line speaks of it" in found.words


def erased(folder: Path, member: str = "fen-07") -> Erased:
    clock = Clock(datetime(2026, 4, 5, tzinfo=UTC))
    with opened(folder, clock, settings=None) as writer:
        return erase(writer, member, f"{member} asked; Fen-07 moved away")


def everything(folder: Path) -> bytes:
    return b"\n".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


def test_erasing_leaves_no_code_and_no_bytes_anywhere(pool: Path) -> None:
    assert b"fen-07" in everything(pool)
    gone = erased(pool)
    assert (gone.sheets, gone.shared_sheets, gone.runs, gone.held, gone.months) == (2, 1, 4, 1, ("2026-03",))
    assert b"fen-07" not in everything(pool).lower()
    assert b"spring" not in everything(pool)
    assert runs_in_force(pool).select("member", "series").rows() == [("m2", "club day")]
    assert view(pool).held["member"].to_list() == ["m2"]


def test_an_erased_sheet_is_no_damage(pool: Path) -> None:
    erased(pool)
    assert journal_findings(pool) == []
    assert damage(pool) == []
    notes = [found.words for found in findings(pool)]
    assert len(notes) == 3
    assert all(words.startswith("erased") for words in notes)


def test_a_pool_is_rebuilt_after_erasing(pool: Path) -> None:
    erased(pool)
    before = content(pool)
    rebuild(pool, recheck=check, say=quiet)
    assert content(pool) == before


def test_an_erasure_cut_short_is_finished_by_the_next_opening(
    pool: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as cut:
        cut.setattr("pipeline.load.changes.erasing.finish", lambda writer: None)
        erased(pool)
    assert b"fen-07" in everything(pool)
    with opened(pool, settings=None):
        pass
    assert b"fen-07" not in everything(pool).lower()
    assert damage(pool) == []


def test_a_month_made_again_after_erasing_is_a_new_edition_that_counts_it(pool: Path) -> None:
    erased(pool)
    clock = Clock(datetime(2026, 4, 6, tzinfo=UTC))
    with opened(pool, clock) as writer:
        edition = begin_edition(writer, "2026-03")
        again = begin_edition(writer, "2026-03")
    assert (edition.number, edition.erased) == (2, 4)
    assert again == edition
    assert view(pool, cutoff_of(edition)).counts["runs"] == 1


def test_nothing_of_nobody_is_erased(pool: Path) -> None:
    with pytest.raises(DrainpoolError, match="nothing of member fen-0"):
        erased(pool, "fen-0")


def test_a_backup_is_restored_in_another_folder(pool: Path, tmp_path: Path) -> None:
    bundle = tmp_path / "kept.tar"
    assert backup(pool, bundle, say=quiet) == bundle.stat().st_size
    restore_backup(bundle, tmp_path / "elsewhere", recheck=check, say=quiet)
    assert content(tmp_path / "elsewhere") == content(pool)
    assert damage(tmp_path / "elsewhere") == []


def test_a_backup_overwrites_nothing_and_restores_into_nothing_else(pool: Path, tmp_path: Path) -> None:
    bundle = tmp_path / "kept.tar"
    backup(pool, bundle, say=quiet)
    with pytest.raises(DrainpoolError, match="there already"):
        backup(pool, bundle, say=quiet)
    with pytest.raises(DrainpoolError, match="not an empty folder"):
        restore_backup(bundle, pool, recheck=check, say=quiet)
    (tmp_path / "text.tar").write_text("no backup at all", encoding="utf-8")
    with pytest.raises(DrainpoolError, match="can't be read as a backup"):
        restore_backup(tmp_path / "text.tar", tmp_path / "new", recheck=check, say=quiet)

"""`drainpool load`, `withdraw`, `restore`, `query`, as real processes on small pools."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from tests.story.pool_fixture import PATIENCE_S, drainpool, small_sheet, write
from tests.story.sheets import BASELINE, PLAIN, sheet_text

ROOT = Path(__file__).resolve().parents[2]
HELD = sheet_text([BASELINE, {**PLAIN, "poured": "300"}])


def journal(pool: Path) -> bytes:
    return (pool / "journal.jsonl").read_bytes()


def runs_in(pool: Path, *options: str) -> int:
    done = drainpool("query", "--pool", pool, "--format", "csv", *options)
    assert done.returncode == 0, done.stderr
    return len(done.stdout.splitlines()) - 1


def test_loading_the_same_folder_twice_changes_nothing(tmp_path: Path) -> None:
    sheets, pool = tmp_path / "sheets", tmp_path / "pool"
    sheets.mkdir()
    write(sheets, "a.csv", small_sheet("m-a"))
    write(sheets, "b.csv", HELD)
    first = drainpool("load", sheets, "--pool", pool)
    before = journal(pool)
    second = drainpool("load", sheets, "--pool", pool)
    assert (first.returncode, second.returncode) == (1, 1), "exit code of the first load"
    assert journal(pool) == before
    assert "received before" in second.stdout


def test_load_json_names_the_content_and_whether_it_was_there(tmp_path: Path) -> None:
    path, pool = write(tmp_path, "a.csv", small_sheet()), tmp_path / "pool"
    told = [
        json.loads(drainpool("load", path, "--pool", pool, "--format", "json").stdout)["files"][0]
        for _ in range(2)
    ]
    assert [one["already_loaded"] for one in told] == [False, True]
    assert told[0]["submission"] == told[1]["submission"] and len(told[0]["submission"]) == 64
    assert (told[0]["rows"], told[0]["accepted"], told[0]["held"]) == (2, 2, 0)


def test_receipts_are_kept_beside_the_pool(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    drainpool("load", write(tmp_path, "a.csv", HELD), "--pool", pool, "--received", "2026-03-20")
    (receipt,) = (pool / "receipts" / "2026-03").iterdir()
    assert "“300”" in receipt.read_text(encoding="utf-8")


def test_a_later_sheet_mends(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    drainpool("load", write(tmp_path, "a.csv", small_sheet()), "--pool", pool, "--received", "2026-03-20")
    check = drainpool("check", write(tmp_path, "b.csv", small_sheet(drain_time="4:44")), "--pool", pool)
    assert check.returncode == 0 and "mended" in check.stdout
    load = drainpool("load", tmp_path / "b.csv", "--pool", pool, "--received", "2026-03-21")
    assert load.returncode == 0 and "mended 2" in load.stdout.lower()
    late = write(tmp_path, "c.csv", small_sheet(drain_time="5:00"))
    words = ("load", late, "--pool", pool, "--received", "2026-03-19", "--format", "json")
    (told,) = json.loads(drainpool(*words).stdout)["files"]
    (said,) = told["problems"]
    assert (said["rule"], said["level"], said["row"]) == ("beside_the_pool", "advice", None)
    assert "2 runs of this sheet have been replaced already, by the sheet of 2026-03-20" in said["message"]


def test_two_loads_at_once_both_succeed(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    words = [sys.executable, "-m", "pipeline.cli", "load", "--pool", str(pool)]
    running = [
        subprocess.Popen(
            [*words, str(write(tmp_path, f"{name}.csv", small_sheet(name)))],
            cwd=ROOT,
            stdout=subprocess.DEVNULL,
        )
        for name in ("m-a", "m-b")
    ]
    assert [one.wait(PATIENCE_S) for one in running] == [0, 0]
    done = drainpool("query", "--pool", pool, "--format", "table")
    assert "2 growers, 2 series, 4 runs" in done.stdout


def test_received_must_be_a_day_that_has_come(tmp_path: Path) -> None:
    path, pool = write(tmp_path, "a.csv", small_sheet()), tmp_path / "pool"
    assert drainpool("load", path, "--pool", pool, "--received", "20.3.2026").returncode == 64
    future = drainpool("load", path, "--pool", pool, "--received", "2999-01-01")
    assert future.returncode == 3 and "future" in future.stderr
    assert not (pool / "journal.jsonl").exists()


def test_withdraw_and_restore(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    for name in ("m-a", "m-b"):
        drainpool("load", write(tmp_path, f"{name}.csv", small_sheet(name)), "--pool", pool)
    gone = drainpool(
        "withdraw", "--pool", pool, "--member", "M-A", "--reason", "asked by mail", "--by-whom", "Ann"
    )
    assert gone.returncode == 0 and "2 runs" in gone.stdout
    assert "1 grower, 1 series, 2 runs" in drainpool("query", "--pool", pool).stdout
    back = drainpool("restore", "--pool", pool, "--member", "m-a", "--reason", "changed their mind")
    assert back.returncode == 0
    assert "2 growers, 2 series, 4 runs" in drainpool("query", "--pool", pool).stdout
    assert b'"by":"Ann"' in journal(pool)


def test_withdraw_of_nobody_changes_nothing(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    drainpool("load", write(tmp_path, "a.csv", small_sheet()), "--pool", pool)
    before = journal(pool)
    done = drainpool("withdraw", "--pool", pool, "--member", "nobody", "--reason", "typo")
    assert done.returncode == 3 and "nobody" in done.stderr and journal(pool) == before
    nowhere = drainpool("withdraw", "--pool", tmp_path / "gone", "--member", "m", "--reason", "typo")
    assert nowhere.returncode == 3 and not (tmp_path / "gone").exists()


def test_too_few_is_an_answer(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    drainpool("load", write(tmp_path, "a.csv", small_sheet(shares=("20", "40"))), "--pool", pool)
    done = drainpool("query", "--pool", pool, "--format", "json", "--by", "climate")
    assert done.returncode == 0
    value = json.loads(done.stdout)
    assert {"as_of", "where", "components", "groups"} <= set(value)
    shares = value["components"]["perlite"]["shares"]
    assert [(one["share"], one["verdict"]) for one in shares] == [(20, "too_few"), (40, "too_few")]
    assert [(one["by"], one["level"]) for one in value["groups"]] == [("climate", "Cfb")]
    assert runs_in(pool) == 2 and runs_in(pool, "--climate", "D") == 0


def test_a_folder_that_is_no_pool_is_refused_in_words(tmp_path: Path) -> None:
    path = write(tmp_path, "a.csv", small_sheet())
    for words in (
        ("load", path, "--pool", tmp_path),
        ("query", "--pool", tmp_path),
        ("month", "2026-03", "--pool", path),
    ):
        done = drainpool(*words)
        assert done.returncode == 3, done.stderr
        assert done.stdout == "" and "Traceback" not in done.stderr
    assert [one.name for one in tmp_path.iterdir()] == ["a.csv"]


def test_settings_that_cannot_be_are_refused_before_anything_is_loaded(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    pool.mkdir()
    (pool / "settings.toml").write_text("assurance = 7\n")
    done = drainpool("load", write(tmp_path, "a.csv", small_sheet()), "--pool", pool)
    assert done.returncode == 3 and "assurance" in done.stderr
    assert [one.name for one in pool.iterdir()] == ["settings.toml"]


def test_withdrawing_and_restoring_count_only_what_they_change(tmp_path: Path) -> None:
    """Twice withdrawn, never withdrawn, replaced by a mended sheet: none of these is counted or claimed."""
    pool = tmp_path / "pool"
    first = write(tmp_path, "first.csv", small_sheet("m-a", shares=("40", "55")))
    mended = write(tmp_path, "mended.csv", small_sheet("m-a", shares=("40",), water_temp="18 °C"))
    assert drainpool("load", first, "--pool", pool).returncode == 0
    assert drainpool("load", mended, "--pool", pool).returncode == 0

    def said(command: str) -> str:
        done = drainpool(command, "--pool", pool, "--member", "m-a", "--reason", "asked by mail")
        assert done.returncode == 0, done.stderr
        return done.stdout

    assert said("restore") == "Nothing was restored: no run of member m-a is withdrawn.\n"
    assert said("withdraw").startswith("Withdrawn: 3 runs in 1 series")
    assert said("withdraw") == "Nothing was withdrawn: no run of member m-a is in force.\n"
    assert said("restore").startswith("Restored: 3 runs in 1 series")

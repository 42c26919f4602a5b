"""`drainpool held`, `answer`, `rebuild`, `verify`, `erase`, `backup` and `restore --backup`, as real processes."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.story.pool_fixture import drainpool, small_sheet, write
from tests.story.sheets import BASELINE, PLAIN, sheet_text


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A pool of two members, one row of m-b held."""
    folder = tmp_path_factory.mktemp("keeping")
    held = [{**row, "member": "m-b"} for row in (BASELINE, PLAIN, {**PLAIN, "pot_no": "2", "poured": "300"})]
    sheets = [write(folder, "a.csv", small_sheet("m-a")), write(folder, "b.csv", sheet_text(held))]
    done = drainpool("load", *sheets, "--pool", folder / "pool")
    assert done.returncode == 1, done.stderr
    return folder / "pool"


@pytest.fixture
def pool(made: Path, tmp_path: Path) -> Path:
    shutil.copytree(made, tmp_path / "pool")
    return tmp_path / "pool"


def growers(pool: Path) -> str:
    return drainpool("query", "--pool", pool).stdout.splitlines()[0]


def test_held_lists_what_waits_and_a_mended_sheet_clears_it(pool: Path, tmp_path: Path) -> None:
    told = drainpool("held", "--pool", pool)
    assert told.returncode == 0 and "m-b" in told.stdout and "b.csv, row 4" in told.stdout
    assert "1 row waiting" in told.stdout
    (row,) = json.loads(drainpool("held", "--pool", pool, "--format", "json").stdout)["held"]
    assert (row["member"], row["sheet_row"]) == ("m-b", 4)
    mended = sheet_text([{**PLAIN, "member": "m-b", "pot_no": "2"}])
    drainpool("load", write(tmp_path, "mended.csv", mended), "--pool", pool)
    assert drainpool("held", "--pool", pool).stdout == "No row waits.\n"


def test_a_decision_is_written_down_and_set_aside_runs_are_out(pool: Path) -> None:
    words = ("--pool", pool, "--member", "m-a", "--series", "bench A", "--reason", "a leak")
    assert "1 run" in drainpool("answer", "aside", *words, "--row", "3", "--by-whom", "Ann").stdout
    assert "2 growers, 2 series, 3 runs" in growers(pool)
    assert drainpool("answer", "keep", *words).returncode == 0
    assert "2 growers, 2 series, 4 runs" in growers(pool)
    gone = drainpool("answer", "ask", *words, "--row", "99")
    assert gone.returncode == 3 and "row 99" in gone.stderr


def test_one_row_of_one_of_two_sheets_is_set_aside(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    for at, share in enumerate(("40", "50")):
        drainpool(
            "load",
            write(tmp_path, f"{at}.csv", small_sheet(shares=(share,), pot_no=str(at + 1))),
            "--pool",
            pool,
        )
    series = PLAIN["series"]
    words = (
        "answer",
        "aside",
        "--pool",
        pool,
        "--member",
        "fen-07",
        "--series",
        series,
        "--row",
        "3",
        "--reason",
        "odd",
    )
    asked = drainpool(*words)
    assert asked.returncode == 3 and "2 sheets have a run" in asked.stderr
    named = asked.stderr.split("one of: ")[1].split(",")[0]
    done = drainpool(*words, "--submission", named)
    assert done.returncode == 0 and "1 run" in done.stdout
    assert drainpool(*words[:-4], "--reason", "odd", "--submission", named).returncode == 64


def test_a_rebuilt_pool_agrees_with_itself(pool: Path) -> None:
    (pool / "pool.duckdb").unlink()
    done = drainpool("rebuild", "--pool", pool)
    assert done.returncode == 0 and "2 receipts, 4 runs" in done.stdout, done.stderr
    verified = drainpool("verify", "--pool", pool)
    assert verified.returncode == 0 and "agree" in verified.stdout
    assert "2 growers" in growers(pool)


def test_verify_names_damage(pool: Path) -> None:
    sheet = next(path for path in (pool / "archive").rglob("*.csv"))
    sheet.chmod(0o644)
    sheet.write_bytes(sheet.read_bytes().replace(b"5:10", b"5:11"))
    done = drainpool("verify", "--pool", pool)
    assert done.returncode == 3 and sheet.stem[:12] in done.stdout


def test_erase_leaves_no_trace_of_the_code(pool: Path) -> None:
    done = drainpool("erase", "--pool", pool, "--member", "M-B", "--reason", "asked by mail")
    assert done.returncode == 0 and "2 runs and 1 held row" in done.stdout, done.stderr
    assert "1 grower, 1 series, 2 runs" in growers(pool)
    assert b"m-b" not in (pool / "journal.jsonl").read_bytes().lower()
    assert drainpool("verify", "--pool", pool).returncode == 0


def test_a_backup_makes_the_same_pool_elsewhere(pool: Path, tmp_path: Path) -> None:
    file, other = tmp_path / "club.backup", tmp_path / "elsewhere"
    assert drainpool("backup", "--pool", pool, file).returncode == 0
    done = drainpool("restore", "--pool", other, "--backup", file)
    assert done.returncode == 0 and "2 receipts, 4 runs" in done.stdout, done.stderr
    assert growers(other) == growers(pool)


@pytest.mark.parametrize("command", ["held", "rebuild", "verify"])
def test_a_folder_that_is_no_pool_is_said_to_be_none(command: str, tmp_path: Path) -> None:
    done = drainpool(command, "--pool", tmp_path / "gone")
    assert done.returncode == 3 and "Traceback" not in done.stderr and not (tmp_path / "gone").exists()


def test_only_a_mended_row_leaves_the_list(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    held_back = small_sheet(shares=("0.25", "some"))
    drainpool("load", write(tmp_path, "a.csv", held_back), "--pool", pool)
    waits = [json.loads(drainpool("held", "--pool", pool, "--format", "json").stdout)["held"]]
    for name, shares in (("b.csv", ()), ("c.csv", ("25",))):
        drainpool("load", write(tmp_path, name, small_sheet(shares=shares)), "--pool", pool)
        waits.append(json.loads(drainpool("held", "--pool", pool, "--format", "json").stdout)["held"])
    assert [len(one) for one in waits] == [2, 2, 0]


def test_one_member_in_two_spellings_is_one_in_the_list(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    for at, member in enumerate(("Rosa", "rosa ")):
        sheet = small_sheet(member, shares=("0.25",), series=f"bench {at}")
        drainpool("load", write(tmp_path, f"{at}.csv", sheet), "--pool", pool)
    drainpool("load", write(tmp_path, "c.csv", "no sheet at all"), "--pool", pool)
    said = drainpool("held", "--pool", pool).stdout
    assert said.startswith("Rosa\n")
    assert "\nrosa" not in said and "2 rows and 1 unreadable sheet waiting" in said

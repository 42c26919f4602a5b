"""`drainpool check` and the front door, as real processes: results, exit codes, words."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.story.pool_fixture import drainpool, small_sheet, write
from tests.story.sheets import BASELINE, PLAIN, sheet_text

HELD = sheet_text([BASELINE, {**PLAIN, "poured": "300"}])


def no_library_words(text: str) -> None:
    for word in ("Traceback", "Error:", "Exception", "polars", "pandera", "dtype"):
        assert word not in text, text


def test_a_sheet_that_is_right(tmp_path: Path) -> None:
    done = drainpool("check", write(tmp_path, "a.csv", small_sheet()))
    assert (done.returncode, done.stderr) == (0, "")
    assert "a.csv" in done.stdout and "2 accepted" in done.stdout


def test_a_held_row_exits_1_and_names_the_row(tmp_path: Path) -> None:
    done = drainpool("check", write(tmp_path, "a.csv", HELD))
    assert done.returncode == 1
    assert "Row 3, poured: “300”" in done.stdout
    no_library_words(done.stdout + done.stderr)


def test_an_unreadable_file_exits_2_and_the_others_are_dealt_with(tmp_path: Path) -> None:
    good = write(tmp_path, "good.csv", small_sheet())
    web = write(tmp_path, "page.csv", "<!DOCTYPE html><html><body>moved</body></html>")
    done = drainpool("check", web, good)
    assert done.returncode == 2
    assert "2 accepted" in done.stdout and "could not be read" in done.stdout


def test_a_missing_file_is_worded_like_one_that_cannot_be_read(tmp_path: Path) -> None:
    good = write(tmp_path, "good.csv", small_sheet())
    done = drainpool("check", tmp_path / "gone.csv", good, "--format", "json")
    assert done.returncode == 2
    files = {Path(one["file"]).name: one for one in json.loads(done.stdout)["files"]}
    assert files["good.csv"]["accepted"] == 2
    gone = files["gone.csv"]
    assert (gone["rows"], gone["accepted"], gone["held"]) == (0, 0, 0)
    assert gone["problems"][0]["row"] is None and "no such file" in gone["problems"][0]["message"]
    assert "no such file" in drainpool("check", tmp_path / "gone.csv").stdout


def test_json_as_the_contract_says(tmp_path: Path) -> None:
    path = write(tmp_path, "a.csv", HELD)
    done = drainpool("check", path, "--format", "json")
    assert done.returncode == 1
    (file,) = json.loads(done.stdout)["files"]
    assert file["file"] == str(path)
    assert (file["rows"], file["accepted"], file["held"]) == (2, 1, 1)
    held = [problem for problem in file["problems"] if problem["level"] == "held"]
    assert [(one["row"], one["column"], one["value"]) for one in held] == [(3, "poured", "300")]
    assert set(held[0]) == {"row", "column", "value", "rule", "level", "message", "fix"}


def test_a_folder_stands_for_the_sheets_in_it(tmp_path: Path) -> None:
    write(tmp_path, "b.csv", small_sheet("m-b"))
    write(tmp_path, "a.csv", small_sheet("m-a"))
    write(tmp_path, ".hidden.csv", "x")
    write(tmp_path, "photo.jpg", "x")
    done = drainpool("check", tmp_path, "--format", "json")
    assert [Path(one["file"]).name for one in json.loads(done.stdout)["files"]] == ["a.csv", "b.csv"]
    empty = tmp_path / "empty"
    empty.mkdir()
    assert drainpool("check", empty).returncode == 2


def test_check_changes_nothing(tmp_path: Path) -> None:
    path = write(tmp_path, "a.csv", HELD)
    drainpool("check", path, cwd=tmp_path)
    assert [one.name for one in tmp_path.iterdir()] == ["a.csv"]


@pytest.mark.parametrize(
    "words",
    [
        ("check",),
        ("bake",),
        (),
        ("month", "2026-13", "--pool", "p"),
        ("query", "--pool", "p", "--climate", "Q"),
    ],
)
def test_wrong_use_exits_64_with_a_sentence(words: tuple[str, ...], tmp_path: Path) -> None:
    done = drainpool(*words, cwd=tmp_path)
    assert done.returncode == 64 and done.stdout == ""
    assert done.stderr.startswith("drainpool: ") and done.stderr.count("\n") == 1
    no_library_words(done.stderr)
    assert list(tmp_path.iterdir()) == []


def test_words_come_out_whole_in_a_plain_locale(tmp_path: Path) -> None:
    path = write(tmp_path, "a.csv", HELD)
    done = drainpool("check", path, env={"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"})
    assert "“300”" in done.stdout


def test_a_reader_that_goes_away_is_no_fault(tmp_path: Path) -> None:
    for number in range(40):
        write(tmp_path, f"{number:02d}.csv", small_sheet(f"m-{number}"))
    read, write_end = os.pipe()
    os.close(read)
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(
        [sys.executable, "-m", "pipeline.cli", "check", str(tmp_path)],
        stdout=write_end,
        stderr=subprocess.PIPE,
        text=True,
        cwd=root,
        check=False,
    )
    os.close(write_end)
    assert done.stderr == "" and done.returncode == 0


def test_sheet_writes_one_that_check_can_read(tmp_path: Path) -> None:
    done = drainpool("sheet", cwd=tmp_path)
    assert done.returncode == 0 and done.stdout.startswith("\ufeff") is False
    assert "member" in done.stdout.splitlines()[0] and "drain_time" in done.stdout.splitlines()[0]
    assert list(tmp_path.iterdir()) == []

"""Own headings: a list beside the sheet says which column each stands for, in `check` and in `load`; it is kept with
the receipt, and the sheet is read with it again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.story.pool_fixture import drainpool
from tests.unit.intake.writing import sheet

COLUMNS = '"Zeit (min)" = "drain_time"\nMenge = "collected (ml)"\n'
SHEET = (
    sheet(
        {"component_share": "0", "collected": "150", "drain_time": "5:10"},
        {"collected": "150", "drain_time": "3.5"},
    )
    .replace("drain_time", "Zeit (min)")
    .replace("collected", "Menge")
)


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, Path]:
    """A sheet with own headings, and the list that explains them."""
    own, listed = tmp_path / "own.csv", tmp_path / "columns.toml"
    own.write_text(SHEET, encoding="utf-8")
    listed.write_text(COLUMNS, encoding="utf-8")
    return own, listed


def test_own_headings_are_refused_without_a_list_and_read_with_it(files: tuple[Path, Path]) -> None:
    own, listed = files
    assert drainpool("check", own).returncode == 1
    done = drainpool("check", own, "--columns", listed, "--format", "json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)["files"][0]
    assert (told["rows"], told["accepted"], told["held"]) == (2, 2, 0)
    sentences = [problem["message"] for problem in told["problems"]]
    assert any("“Zeit (min)” as drain_time" in sentence for sentence in sentences), sentences
    assert any("“Menge” as collected" in sentence for sentence in sentences), sentences
    forms = {
        column["column"]: {form["typed"]: form["read"] for form in column["forms"]}
        for column in told["readings"]
    }
    assert forms["drain_time"] == {"5:10": "5 min 10 s", "3.5": "3 min 30 s"}
    assert forms["collected"] == {"150": "150 ml"}


def test_a_heading_of_the_list_that_the_sheet_lacks_is_named(files: tuple[Path, Path]) -> None:
    own, listed = files
    listed.write_text(COLUMNS + 'Wetter = "notes"\n', encoding="utf-8")
    done = drainpool("check", own, "--columns", listed)
    assert done.returncode == 0 and "“Wetter”" in done.stdout


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ('Zeit = "soil"\n', "no column of a run sheet"),
        ("Zeit = 3\n", "no column of a run sheet"),
        ('Zeit = "drain_time"\nZeit = "poured"\n', "a heading twice"),
        ('Zeit = "drain_time"\nZEIT = "poured"\n', "stands twice"),
        ('Zeit = "drain_time"\nDauer = "drain_time_s"\n', "both said to be drain_time"),
        ('"…" = "drain_time"\nx', "TOML"),
        (None, "no such file"),
    ],
)
def test_a_list_that_can_not_be_used_is_refused_in_a_sentence(
    text: str | None, sentence: str, files: tuple[Path, Path]
) -> None:
    own, listed = files
    if text is None:
        listed.unlink()
    else:
        listed.write_text(text, encoding="utf-8")
    done = drainpool("check", own, "--columns", listed)
    assert done.returncode == 3 and sentence in done.stderr and "Traceback" not in done.stderr, done.stderr


def test_a_loaded_list_is_kept_with_the_receipt_and_the_sheet_read_with_it_again(
    files: tuple[Path, Path], tmp_path: Path
) -> None:
    own, listed = files
    pool = tmp_path / "pool"
    assert drainpool("load", own, "--pool", pool).returncode == 1
    done = drainpool("load", own, "--pool", pool, "--columns", listed, "--format", "json")
    told = json.loads(done.stdout)["files"][0]
    assert (told["accepted"], told["already_loaded"]) == (2, False), "the same bytes, mapped anew, are new"
    again = drainpool("load", own, "--pool", pool, "--columns", listed, "--format", "json")
    assert json.loads(again.stdout)["files"][0]["already_loaded"]
    lines = [json.loads(line) for line in (pool / "journal.jsonl").read_text(encoding="utf-8").splitlines()]
    received = [line for line in lines if line["event"] == "received"]
    assert [line["private"].get("columns") for line in received] == [
        None,
        {"Zeit (min)": "drain_time", "Menge": "collected (ml)"},
    ]
    receipts = [path.read_text(encoding="utf-8") for path in (pool / "receipts").rglob("*.txt")]
    assert any("“Zeit (min)” as drain_time" in " ".join(text.split()) for text in receipts)
    verified = drainpool("verify", "--pool", pool, "--reread")
    assert verified.returncode == 0 and "differently" not in verified.stdout, verified.stdout
    assert drainpool("rebuild", "--pool", pool).returncode == 0

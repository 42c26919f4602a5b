"""Receipts as text and as values."""

from __future__ import annotations

import dataclasses
import json
import re
from typing import Any

import polars as pl

from pipeline.check.receipt import as_json_value, as_text, each_as_text
from pipeline.check.steps import Checked
from tests.unit.check.sheets import base, check, check_many, mix, problems


def told_rows(text: str, start: str) -> set[int]:
    """Every row number that the lines from `start` to the next blank line list."""
    block = text[text.index(start) :].split("\n\n")[0]
    rows: set[int] = set()
    for word in re.findall(r"(?i)\brows? ([\d, and-]+)", block):
        for first, last in re.findall(r"(\d+)(?:-(\d+))?", word):
            rows |= set(range(int(first), int(last or first) + 1))
    return rows


def renamed(checked: Checked, *names: str) -> Checked:
    return dataclasses.replace(checked, files=checked.files.with_columns(file=pl.Series(names)))


def test_json_has_the_contracts_keys_and_the_cell_as_typed() -> None:
    evil = "\x1b[31m\u202e999 ml"
    value = as_json_value(check(base(), mix(collected_ml=999.0, cells={"collected": evil})))
    (file,) = value["files"]
    assert list(file) == ["file", "rows", "accepted", "held", "waits", "problems", "readings", "results"]
    assert (file["rows"], file["accepted"], file["held"]) == (2, 1, 1)
    (problem,) = file["problems"]
    assert list(problem) == ["row", "column", "value", "rule", "level", "message", "fix"]
    assert problem["value"] == evil and problem["level"] == "held" and problem["row"] == 3
    assert "\x1b" not in problem["message"]
    assert json.loads(json.dumps(value)) == value


def test_json_takes_more_keys_for_a_file() -> None:
    checked = check_many([base(), mix()], [base(), mix()])
    value = as_json_value(checked, {1: {"already_loaded": True}})
    assert "already_loaded" not in value["files"][0] and value["files"][1]["already_loaded"]


def test_an_unreadable_file_is_listed_with_one_held_problem() -> None:
    checked = check_many([base(), mix()], [])
    files = checked.files.with_columns(readable=pl.Series([True, False]))
    found = check_many([base(), mix()], [], found=problems({"file_id": 1, "rule": "file_empty"})).problems
    checked = dataclasses.replace(checked, files=files, problems=found)
    file = as_json_value(checked)["files"][1]
    assert (file["rows"], file["accepted"], file["held"]) == (0, 0, 0)
    assert [(one["row"], one["level"]) for one in file["problems"]] == [(None, "held")]
    text = as_text(checked)
    assert "sheet1.csv: could not be read" in text and "could not be read as a run sheet" in text


def test_a_right_sheet_gets_thanks_and_the_cautions() -> None:
    text = as_text(check(base(), mix()))
    assert text.startswith("Receipt for sheet0.csv\n  2 rows: 2 accepted, 0 held. Thank you.\n")
    for word in ("dust mask", "Moulds", "lift", "local rules"):
        assert word in text
    assert text.endswith("\n") and not text.endswith("\n\n")


def test_fifty_equal_problems_read_as_one_and_every_row_is_listed() -> None:
    rows = [mix(pot_no=number, collected_ml=400.0) for number in range(1, 51)]
    text = as_text(check(base(), *rows))
    assert text.count("No more can be collected") + text.count("No more can be\n") == 1
    assert "Rows 3-52 (50 rows), collected: “400 ml”" in text


def test_problems_that_differ_only_in_what_was_read_list_every_row_and_cell() -> None:
    rows = [mix(pot_no=number, collected_ml=400.0 + number) for number in range(1, 31)]
    text = as_text(check(base(), *rows))
    assert text.count("To mend:") == 1
    assert told_rows(text, "  * Row 3") == set(range(3, 33))
    for number in range(1, 31):
        assert f"“{400 + number} ml”" in " ".join(text.split())


def test_held_left_out_and_advice_stand_apart() -> None:
    text = as_text(
        check(base(), mix(), mix(), mix(pot_no=2, start_moisture=None), mix(pot_no=3, collected_ml=999.0))
    )
    held, left_out, advice = (text.index(word) for word in ("Held back.", "Counted once.", "Good to know."))
    assert held < left_out < advice
    assert "Row 5, start_moisture: left blank" in text[advice:]


def test_notes_stand_under_the_counts() -> None:
    checked = check(base(), mix())
    text = as_text(checked, {0: ["mended 1, added 2, kept 11 from the sheet of 2026-03-04"]})
    assert text.splitlines()[2] == "  mended 1, added 2, kept 11 from the sheet of 2026-03-04"


def test_folders_are_left_off_unless_two_files_share_a_name() -> None:
    checked = check_many([base()], [base()], [base()])
    text = as_text(renamed(checked, "in/a.csv", "b/one.csv", "c/one.csv"))
    assert [line for line in text.splitlines() if line.startswith("Receipt for")] == [
        "Receipt for a.csv",
        "Receipt for b/one.csv",
        "Receipt for c/one.csv",
    ]
    assert text.startswith("3 sheets: 3 rows, 3 accepted, 0 held.\n")


def test_nothing_a_member_typed_can_steer_the_terminal() -> None:
    evil = "\x1b[2J\x07\u202e"
    row: dict[str, Any] = mix(series=evil, collected_ml=400.0, cells={"collected": evil, "series": evil})
    text = as_text(
        renamed(check(base(), row, mix(setup_type="other", notes=None)), f"{evil}.csv"), {0: [evil]}
    )
    assert all(character.isprintable() or character == "\n" for character in text)
    assert "\\x1b[2J" in text


def test_receipts_one_by_one_say_what_each_file_alone_is_told() -> None:
    sheets = [base(), mix(collected_ml=400.0)], [base(), mix()]
    together = dict(each_as_text(check_many(*sheets), {1: ["already there"]}))
    assert together[0] == as_text(check(*sheets[0]))
    assert "already there" in together[1] and "Receipt for sheet1.csv" in together[1]


def test_lines_fit_a_terminal() -> None:
    text = as_text(check(base(), mix(setup_type="sieve"), mix(pot_no=2, collected_ml=999.0)))
    assert max(len(line) for line in text.splitlines()) <= 96

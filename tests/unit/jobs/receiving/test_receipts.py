"""Receipts gathered over batches: counts, order, and files that could not be opened."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.jobs.own_result.steps import own_results
from pipeline.jobs.receiving.checking import check_batch
from pipeline.jobs.receiving.receipts import Receipts, text_receipt, what_the_pool_says
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.settings import Settings
from schemas.receipt import ReceiptsValue
from tests.rounds import examples
from tests.story.pool_fixture import small_sheet

DAY = date(2026, 6, 1)
FILES = {
    "good": Sheet("good.csv", small_sheet().encode()),
    "held": Sheet("held.csv", small_sheet("otter-3", poured="300").encode()),
    "page": Sheet("page.csv", b"<!DOCTYPE html><html></html>"),
    "gone": Sheet("gone.csv", None, "there is no such file"),
}


def gathered(*batches: list[str]) -> Receipts:
    receipts = Receipts()
    for names in batches:
        sheets = [FILES[name] for name in names]
        checked = check_batch(sheets, Settings(), DAY)
        receipts.add(checked, {}, {}, {}, own_results(checked, Settings(), None))
        receipts.add_missing(sheets)
    return receipts


@pytest.mark.parametrize(
    "batches", [([*FILES],), (["good", "held"], ["page", "gone"]), (["good"], ["held"], ["page"], ["gone"])]
)
def test_counts_do_not_depend_on_how_files_are_batched(batches: tuple[list[str], ...]) -> None:
    receipts = gathered(*batches)
    assert (receipts.missing, receipts.unreadable, receipts.held) == (1, 1, 2)
    assert {file["file"]: (file["rows"], file["accepted"], file["held"]) for file in receipts.files} == {
        "good.csv": (2, 2, 0),
        "held.csv": (2, 0, 2),
        "page.csv": (0, 0, 0),
        "gone.csv": (0, 0, 0),
    }


def test_a_missing_file_has_one_held_problem_without_a_row() -> None:
    (file,) = gathered(["gone"]).files
    (problem,) = file["problems"]
    assert (problem["row"], problem["level"]) == (None, "held")
    assert "there is no such file" in problem["message"]


def test_a_batch_of_missing_files_alone_writes_no_empty_receipt() -> None:
    assert len(gathered(["gone", "gone"]).texts) == 2


@settings(max_examples=examples(0.2))
@given(st.lists(st.sampled_from(sorted(FILES)), max_size=4))
def test_every_file_has_one_receipt_that_is_plain_json(names: list[str]) -> None:
    files = gathered(names).files
    assert sorted(file["file"] for file in files) == sorted(FILES[name].name for name in names)
    value: ReceiptsValue = {"files": files}
    assert json.loads(json.dumps(value)) == value
    for file in files:
        assert file["rows"] == file["accepted"] + file["held"]


def test_notes_and_refusals_stand_in_the_text_of_their_file() -> None:
    checked = check_batch([FILES["good"], FILES["held"]], Settings(), DAY)
    text = text_receipt(checked, {}, {0: ["Mended 1."]}, {1: "The report of 2026-05 has been made."})
    good, held = text.index("good.csv"), text.rindex("held.csv")
    assert good < text.index("Mended 1.")
    assert text.index("The report of 2026-05") > text.index("Mended 1.")
    assert held > 0


def test_without_a_pool_nothing_is_said_of_one() -> None:
    assert what_the_pool_says(None, check_batch([FILES["good"]], Settings(), DAY)) == {}


def test_the_pool_says_what_it_has_already(loaded_pool: Path) -> None:
    member = "fen-07"
    checked = check_batch(
        [Sheet("again.csv", small_sheet(member, drain_time="4:44").encode())], Settings(), DAY
    )
    lines = what_the_pool_says(loaded_pool, checked)
    assert any("mend" in line for line in lines[0]), lines

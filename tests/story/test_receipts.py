"""Every rule has a sample and every sample its exact receipt: a change of wording shows up here as prose.

`python -m contrib_samples.receipts` writes the receipts again.
"""

from __future__ import annotations

from functools import cache

import polars as pl
import pytest

from contrib_samples.odd_files import FILES, HERE, TOO_LARGE_TO_KEEP
from contrib_samples.receipts import ENDING, FOLDERS, checked, receipt, receipt_file, samples
from pipeline.check.steps import Checked, check_sheets
from pipeline.intake.steps import ReceivedFile, read_sheets
from pipeline.settings import Settings
from schemas.kinds.run import RUN
from schemas.rules import RULES, rule
from schemas.rules.reading import NO_SHEET_AT_ALL
from schemas.rules.rows import NOT_FROM_A_SHEET
from tests.story.sheets import TODAY

NO_SAMPLE = NOT_FROM_A_SHEET | NO_SHEET_AT_ALL | {"file_not_read", "cell_not_read", "own_heading_missing"}
"""Rules that only a fault of the tool sets off (the unit tests make such faults), a file that is not there, or a list
of own headings beside the sheet (`tests/story/test_own_headings.py`)."""
NAMES = [*samples(), *TOO_LARGE_TO_KEEP]


@cache
def outcome(name: str) -> Checked:
    content = TOO_LARGE_TO_KEEP[name]() if name in TOO_LARGE_TO_KEEP else samples()[name].read_bytes()
    return checked(name, content)


@pytest.mark.parametrize("name", NAMES)
def test_the_receipt_is_the_one_beside_the_sheet(name: str) -> None:
    assert receipt(outcome(name)) == receipt_file(name).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", NAMES)
def test_rows_are_accepted_or_held(name: str) -> None:
    files = outcome(name).files
    assert files["rows"].to_list() == (files["accepted"] + files["held"]).to_list()
    assert outcome(name).accepted.height == files["accepted"].sum()
    if files["readable"].all():
        assert outcome(name).held.height == files["held"].sum()


def test_every_rule_has_a_sample_and_every_sample_a_rule() -> None:
    shown = [name.split("/")[1].split(".")[0] for name in NAMES if name.startswith("refused/")]
    assert len(shown) == len(set(shown)), "one sample a rule"
    assert set(shown) == {one.id for one in RULES} - NO_SAMPLE


COMES_WITH = {
    **dict.fromkeys(("drains_fast", "drains_slow", "pour_time_long", "time_long", "time_short"), "run_waits"),
    "cells_merged": "blank_cell",
}
"""What a sheet that shows the rule can't be without: a run so far off waits as well; cells under a merged one are blank."""


@pytest.mark.parametrize("name", [name for name in NAMES if name.startswith("refused/")])
def test_a_refused_sample_shows_its_rule_and_no_other(name: str) -> None:
    found = outcome(name).problems.select("rule", "level").unique().rows()
    own = name.split("/")[1].split(".")[0]
    shown = {own, COMES_WITH.get(own, own)}
    assert sorted(found) == sorted((name, rule(name).level) for name in shown)


def test_no_receipt_lies_about_without_its_sheet() -> None:
    lying = {path for folder in FOLDERS for path in (HERE / folder).glob(f"*{ENDING}")}
    assert lying == {receipt_file(name) for name in NAMES}


@pytest.mark.parametrize("name", [name for name in NAMES if name.startswith("accepted/")])
def test_accepted_samples_are_accepted_whole(name: str) -> None:
    assert outcome(name).files["held"].to_list() == [0]
    assert outcome(name).accepted.height >= 3


def test_the_american_and_the_german_sheet_are_read_in_their_own_units() -> None:
    american, german = outcome("accepted/american.txt").accepted, outcome("accepted/german.csv").accepted
    assert american["poured_ml"].unique().to_list() == pytest.approx([1.25 * 236.5882365])  # NIST Handbook 44
    assert german["poured_ml"].unique().to_list() == [300.0]
    assert german["water_temp_c"].unique().to_list() == [18.5]


def test_the_correction_mends_what_was_held_and_mistyped() -> None:
    names = ["member_key", "series_key", "component_share", "pot_no", "pour_no"]
    first, second = (outcome(f"mended/{name}.csv") for name in ("1_first_sheet", "2_correction"))
    assert first.files.select("accepted", "held").rows() == [(3, 1)]
    assert second.files.select("accepted", "held").rows() == [(3, 0)]
    again = first.accepted.join(second.accepted, on=names)
    assert again.select("drain_time_s", "drain_time_s_right").rows() == [(28 * 60 + 50.0, 2 * 60 + 50.0)]


@pytest.mark.parametrize("name", sorted(FILES))
def test_odd_files_are_what_their_script_writes(name: str) -> None:
    assert (HERE / name).read_bytes() == FILES[name]()


@pytest.mark.parametrize("name", NAMES)
def test_samples_say_that_they_are_invented(name: str) -> None:
    accepted = outcome(name).accepted
    said = accepted["notes"].fill_null("").str.contains("invented for the tests")
    assert said.all() or name == "refused/setup_not_described.csv"


def test_all_samples_at_once_get_what_each_gets_alone() -> None:
    names = sorted(samples())
    sheets = read_sheets([ReceivedFile(name, samples()[name].read_bytes()) for name in names], RUN)
    together = check_sheets(sheets.files, sheets.cells, sheets.typed, sheets.problems, RUN, Settings(), TODAY)
    for file_id, name in enumerate(names):
        mine = together.problems.filter(pl.col("file_id") == file_id).drop("file_id")
        assert mine.equals(outcome(name).problems.drop("file_id"), null_equal=True), name

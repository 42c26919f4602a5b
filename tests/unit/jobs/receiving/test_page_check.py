"""Sheets checked for a page: each by its own, in order, with readings, codes and own columns."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from pipeline.jobs.receiving.checking import check_batch
from pipeline.jobs.receiving.page_check import CheckedSheet, check_for_page, members_named
from pipeline.jobs.receiving.readings import check_and_read_back
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.settings import Settings
from tests.story.pool_fixture import small_sheet
from tests.story.sheets import BASELINE, PLAIN, sheet_text

DAY = date(2026, 6, 1)
GOOD = Sheet("good.csv", small_sheet().encode())
OWN = Sheet("own.csv", small_sheet("otter-3").replace("drain_time", "Gestoppt").encode())
MIXED = Sheet(
    "mixed.csv",
    sheet_text(
        [BASELINE, {**PLAIN, "member": "otter-3"}, {**PLAIN, "member": "heron-1", "poured": "300"}]
    ).encode(),
)


def checked(pool: Path, *sheets: Sheet) -> list[CheckedSheet]:
    return check_for_page(pool, lambda: None, sheets, DAY)


def test_sheets_come_back_in_order_without_those_that_could_not_be_opened(tmp_path: Path) -> None:
    gone = Sheet("gone.csv", None, "there is no such file")
    results = checked(tmp_path, gone, OWN, GOOD)
    assert [result.receipt["file"] for result in results] == ["own.csv", "good.csv"]
    assert checked(tmp_path) == []


def test_what_is_said_of_a_sheet_is_what_it_gets_alone(tmp_path: Path) -> None:
    together = checked(tmp_path, GOOD, OWN, MIXED)
    alone = [checked(tmp_path, sheet)[0] for sheet in (GOOD, OWN, MIXED)]
    assert together == alone


def test_a_sheet_with_own_headings_offers_them(tmp_path: Path) -> None:
    own, good = checked(tmp_path, OWN, GOOD)
    assert own.missing == ["drain_time"]
    assert own.own_columns == {"Gestoppt": ["5:10", "4:10"]}
    assert (good.missing, good.own_columns) == ([], {})


def test_an_explained_heading_is_read_and_kept(tmp_path: Path) -> None:
    explained = Sheet(OWN.name, OWN.content, columns=(("Gestoppt", "drain_time"),))
    (result,) = checked(tmp_path, explained)
    assert result.receipt["accepted"] == 2
    assert result.columns == {"Gestoppt": "drain_time"}
    assert result.own_columns == {}


def test_every_code_of_a_sheet_is_named_in_held_rows_too() -> None:
    batch = check_batch([MIXED, GOOD], Settings(), DAY)
    members = members_named(batch)
    assert sorted(members[0]) == ["fen-07", "heron-1", "otter-3"]
    assert members[1] == ["fen-07"]


def test_readings_are_those_of_accepted_rows() -> None:
    batch, readings = check_and_read_back([GOOD, MIXED], Settings(), DAY)
    times = {reading.typed: reading.read for reading in readings[0] if reading.column == "drain_time"}
    assert times == {"5:10": "5 min 10 s", "4:10": "4 min 10 s"}
    assert batch.files["accepted"].to_list() == [2, 2]


def test_a_file_that_is_no_sheet_is_told_apart(tmp_path: Path) -> None:
    (result,) = checked(tmp_path, Sheet("page.csv", b"<!DOCTYPE html><html></html>"))
    assert not result.readable and result.readings == [] and result.members == []
    assert len(result.submission) == 64


def test_beside_a_pool_the_sheet_hears_what_is_there(loaded_pool: Path, tmp_path: Path) -> None:
    mended = Sheet("again.csv", small_sheet(drain_time="4:44").encode())
    (beside,) = checked(loaded_pool, mended)
    assert beside.in_pool
    (alone,) = checked(tmp_path, mended)
    assert alone.in_pool == []

"""Checks before loading: pure, in the order of the files that could be opened, and made again as on their day."""

from __future__ import annotations

import pickle
from datetime import date
from pathlib import Path

import pytest

from pipeline.errors import DrainpoolError
from pipeline.jobs.receiving.checking import (
    check_batch,
    check_for_loading,
    now,
    pool_settings,
    received_files,
    recheck,
)
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.settings import Settings
from tests.story.pool_fixture import small_sheet

DAY = date(2026, 6, 1)
GOOD = Sheet("good.csv", small_sheet().encode())
GONE = Sheet("gone.csv", None, "there is no such file")
LATER = Sheet("later.csv", small_sheet("otter-3", tested_on="2026-06-20").encode())


def test_files_that_could_not_be_opened_take_no_place() -> None:
    assert [file.name for file in received_files([GONE, GOOD, GONE, LATER])] == ["good.csv", "later.csv"]
    files = check_batch([GONE, GOOD, LATER], Settings(), DAY).files
    assert files.select("file_id", "file").rows() == [(0, "good.csv"), (1, "later.csv")]


def test_the_day_decides_what_lies_in_the_future() -> None:
    on_the_day, earlier = (check_batch([LATER], Settings(), day).files for day in (date(2026, 6, 20), DAY))
    assert on_the_day["held"].to_list() == [0]
    assert earlier["held"].to_list() == [2]


def test_rows_are_accepted_or_held_whatever_the_kind_of_file() -> None:
    sheets = [GOOD, Sheet("page.csv", b"<html>"), Sheet("bad.csv", small_sheet(poured="300").encode())]
    for file in check_batch(sheets, Settings(), DAY).files.iter_rows(named=True):
        assert file["rows"] == file["accepted"] + file["held"]


def test_a_checked_batch_comes_back_whole_from_another_process() -> None:
    batch = check_for_loading([GONE, GOOD], Settings(target_ratio=1.5), DAY)
    again = pickle.loads(pickle.dumps(batch))  # noqa: S301 - our own bytes, as a process pool sends them
    assert again.sheets == (GONE, GOOD)
    assert (again.settings, again.day) == (Settings(target_ratio=1.5), DAY)
    assert again.checked.accepted.equals(batch.checked.accepted)
    assert again.checked.files.equals(batch.checked.files)


def test_an_archived_file_is_checked_with_the_settings_of_its_day() -> None:
    usual = recheck([("good.csv", GOOD.content or b"", ())], DAY, Settings().as_values())
    strict = {**Settings().as_values(), "front_speed_held_above_cm_s": 0.001}
    assert usual.files["accepted"].to_list() == [2]
    assert recheck([("good.csv", GOOD.content or b"", ())], DAY, strict).files["held"].to_list() == [2]


def test_own_headings_go_with_the_archived_file() -> None:
    content = small_sheet().replace("drain_time", "Gestoppt").encode()
    values = Settings().as_values()
    assert recheck([("a.csv", content, ())], DAY, values).files["accepted"].to_list() == [0]
    named = recheck([("a.csv", content, (("Gestoppt", "drain_time"),))], DAY, values)
    assert named.files["accepted"].to_list() == [2]


def test_without_a_pool_or_a_settings_file_the_defaults_hold(tmp_path: Path) -> None:
    folder = tmp_path
    assert pool_settings(None) == pool_settings(folder) == Settings()
    (folder / "settings.toml").write_text("target_ratio = 1.5\n", encoding="utf-8")
    assert pool_settings(folder).target_ratio == 1.5
    (folder / "settings.toml").write_text("target_ratio = 100\n", encoding="utf-8")
    with pytest.raises(DrainpoolError, match="target_ratio"):
        pool_settings(folder)


def test_now_has_whole_seconds_in_utc() -> None:
    moment = now()
    assert moment.microsecond == 0 and str(moment.tzinfo) == "UTC"

"""A member's own result at once: `check` and `load`, alone and beside a pool."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.story.desk_fixture import small_pool
from tests.story.pool_fixture import drainpool, small_sheet, write
from tests.story.sheets import BASELINE, PLAIN, sheet_text

SHEET = sheet_text([BASELINE, PLAIN, {**PLAIN, "pot_no": "2", "drain_time": "3:40"}])


def results(*words: str | Path) -> list[dict[str, Any]]:
    (file,) = json.loads(drainpool(*words, "--format", "json").stdout)["files"]
    series: list[dict[str, Any]] = file["results"]
    return series


def test_check_tells_a_newcomer_their_own_result(tmp_path: Path) -> None:
    path = write(tmp_path, "a.csv", SHEET)
    (series,) = results("check", path)
    assert series["series"] == "bench A" and series["repeat_factor"] == pytest.approx(220 / 205, rel=1e-5)
    first = series["pots"][0]
    assert (first["share"], first["pot"], first["pour"], first["rate_ml_min_l"]) == (0.0, 1, 1, 29.0323)
    (ratio,) = series["ratios"]
    assert (ratio["share"], ratio["pots"], ratio["others"]) == (40.0, 2, None)
    text = drainpool("check", path).stdout
    assert "before the month" in text and "1.5 times as fast as your straight peat" in text
    assert "150 ml in 5 min 10 s from 1 l: 29 ml a minute per litre" in text


def test_beside_a_pool_it_says_where_that_lies(tmp_path: Path) -> None:
    pool = small_pool(tmp_path / "pool")
    path = write(tmp_path, "a.csv", SHEET.replace("fen-07", "newcomer-1"))
    before = results("check", path, "--pool", pool)
    others = before[0]["ratios"][0]["others"]
    assert others["members"] == 6 and 0 < others["less"] < 6
    assert results("load", path, "--pool", pool) == before
    sentence = f"({others['less']} of 6 other growers found less)"
    assert sentence in drainpool("check", path, "--pool", pool).stdout
    kept = [file.read_text(encoding="utf-8") for file in (pool / "receipts").rglob("*.txt")]
    assert sum(sentence in text for text in kept) == 1


def test_two_growers_are_too_few_to_stand_beside(tmp_path: Path) -> None:
    pool = small_pool(tmp_path / "pool", ("heron-12", "otter-3"))
    path = write(tmp_path, "a.csv", SHEET)
    assert results("check", path, "--pool", pool)[0]["ratios"][0]["others"] is None


def test_an_empty_pool_and_an_unreadable_file_have_no_result(tmp_path: Path) -> None:
    path = write(tmp_path, "a.csv", small_sheet())
    assert results("load", path, "--pool", tmp_path / "new")[0]["ratios"][0]["others"] is None
    assert results("check", write(tmp_path, "page.csv", "<html></html>")) == []
    assert results("check", tmp_path / "gone.csv") == []

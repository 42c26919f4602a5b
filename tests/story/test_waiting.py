"""A run that waits, from its receipt to the answer: `check`, `load`, `held`, `answer`, `query`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tests.story.desk_fixture import small_pool
from tests.story.pool_fixture import drainpool, write
from tests.story.sheets import BASELINE, PLAIN, sheet_text

ROWS = [
    BASELINE,
    {**PLAIN, "component_share": "20", "drain_time": "4:20"},
    PLAIN,
    {**PLAIN, "pot_no": "2", "drain_time": "3 h 31 min"},
    {**PLAIN, "component_share": "60", "drain_time": "2:30"},
]
ODD_ROW = 5


def file_of(*words: str | Path) -> dict[str, Any]:
    (file,) = json.loads(drainpool(*words, "--format", "json").stdout)["files"]
    read: dict[str, Any] = file
    return read


def asked(file: dict[str, Any]) -> list[tuple[int, str, str]]:
    return [
        (problem["row"], problem["column"], problem["value"])
        for problem in file["problems"]
        if problem["rule"] == "run_waits"
    ]


def test_a_time_of_hours_among_minutes_waits_until_it_is_answered(tmp_path: Path) -> None:
    path = write(tmp_path, "a.csv", sheet_text([{**row, "member": "newcomer-1"} for row in ROWS]))
    pool = small_pool(tmp_path / "pool")
    for words in (("check", path), ("check", path, "--pool", pool), ("load", path, "--pool", pool)):
        file = file_of(*words)
        assert (file["rows"], file["accepted"], file["held"], file["waits"]) == (5, 5, 0, 1)
        assert asked(file) == [(ODD_ROW, "drain_time", "3 h 31 min")]
        pots = {(pot["share"], pot["pot"]) for pot in file["results"][0]["pots"]}
        assert (40.0, 1) in pots and (40.0, 2) not in pots
    text = " ".join(drainpool("check", path, "--pool", pool).stdout.split())
    assert "5 rows: 5 accepted, 0 held. 1 of the accepted waits for your answer" in text
    assert "Every row is accepted" not in text and "60 times shorter" in text

    query = ("query", "--pool", pool, "--format", "json")
    before = json.loads(drainpool(*query).stdout)["components"]["perlite"]
    assert before["waits"] == 1
    held = json.loads(drainpool("held", "--pool", pool, "--format", "json").stdout)
    assert [(run["member"], run["sheet_row"]) for run in held["waits"]] == [("newcomer-1", ODD_ROW)]
    assert "newcomer-1, series “bench A”, row 5" in drainpool("held", "--pool", pool).stdout

    answer = (
        "answer",
        "--pool",
        pool,
        "--member",
        "newcomer-1",
        "--series",
        "bench A",
        "--row",
        str(ODD_ROW),
    )
    kept = drainpool(*answer, "keep", "--reason", "it was clogged")
    assert "Kept: 1 run" in kept.stdout
    after = json.loads(drainpool(*query).stdout)["components"]["perlite"]
    assert after["waits"] == 0 and after["counts"]["runs"] == before["counts"]["runs"] + 1
    assert file_of("check", path, "--pool", pool)["waits"] == 0
    assert drainpool("held", "--pool", pool).stdout == "No row waits.\n"


def test_a_mended_sheet_is_the_answer_too_and_a_copy_under_another_label_is_asked_about(
    tmp_path: Path,
) -> None:
    pool = tmp_path / "pool"
    file_of("load", write(tmp_path, "a.csv", sheet_text(ROWS)), "--pool", pool)
    mended = [{**row, "drain_time": row["drain_time"].replace("3 h 31 min", "3:31")} for row in ROWS]
    file = file_of("load", write(tmp_path, "b.csv", sheet_text(mended)), "--pool", pool)
    assert file["waits"] == 0 and "No row waits" in drainpool("held", "--pool", pool).stdout

    copy = write(tmp_path, "c.csv", sheet_text([{**row, "series": "bench B"} for row in mended]))
    for words in (("check", copy, "--pool", pool), ("load", copy, "--pool", pool)):
        file = file_of(*words)
        assert (file["accepted"], file["waits"]) == (5, 5)
    assert file_of("check", copy)["waits"] == 0
    assert "that of series “bench A” of member fen-07" in drainpool("held", "--pool", pool).stdout


def test_a_pot_volume_that_explains_it_is_asked_about_alone(tmp_path: Path) -> None:
    rows = [{**row, "pot_no": str(place), "drain_time": "3:25"} for place, row in enumerate([PLAIN] * 5, 1)]
    rows[3]["pot_volume"] = "100 ml"
    rules = {
        problem["rule"]
        for problem in file_of("check", write(tmp_path, "a.csv", sheet_text(rows)))["problems"]
    }
    assert "pot_volume_changes" in rules and not rules & {"run_waits", "time_unlike_series"}

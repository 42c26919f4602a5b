"""A query of a small pool: its parts add up, levels stand in their order, and nothing is written."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from pipeline.jobs.query.part import read_part
from pipeline.jobs.query.steps import BY, QueryResult, answer
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.jobs.receiving.steps import Moment, load_batch
from tests.story.pool_fixture import small_sheet

MIXED = (
    (
        "newt-1",
        {"climate_zone": "Csb", "setup_type": "sieve", "component_grade": "fine", "pot_volume": "400 ml"},
    ),
    (
        "newt-2",
        {"climate_zone": "Dfb", "setup_type": "strainer", "component_grade": "coarse", "pot_volume": "3 l"},
    ),
    ("newt-3", {"climate_zone": "unknown", "pot_volume": "6 l"}),
)


@pytest.fixture(scope="module")
def mixed(tmp_path_factory: pytest.TempPathFactory, loaded_pool: Path) -> Path:
    """The six growers and three more in other places, pots, setups and grades."""
    pool = shutil.copytree(loaded_pool, tmp_path_factory.mktemp("query") / "pool")
    sheets = [Sheet(f"{code}.csv", small_sheet(code, ("40",), **changes).encode()) for code, changes in MIXED]
    load_batch(pool, sheets, [Moment()] * len(sheets), "tests", lambda _line: None)
    return pool


@pytest.fixture(scope="module")
def by_level(mixed: Path) -> Callable[[str], QueryResult]:
    """The answer for the whole pool by the levels of one option, computed once."""
    return cache(lambda by: answer(mixed, read_part({}), by))


@pytest.mark.parametrize("by", ["climate", "setup"])
def test_levels_take_every_run_once_and_stand_in_order(
    by: str, by_level: Callable[[str], QueryResult]
) -> None:
    answered = by_level(by)
    levels = [group["level"] for group in answered.value["groups"]]
    assert levels == [level for level in BY[by][1] if level in levels]
    assert len(levels) >= 2
    assert sum(counts["runs"] for counts in answered.group_counts) == answered.counts["runs"]


def test_a_part_and_the_rest_add_up_to_the_whole(mixed: Path, by_level: Callable[[str], QueryResult]) -> None:
    whole = by_level("setup").counts
    parts = [answer(mixed, read_part({"pot_volume": ends}), None).counts for ends in ("..2l", "2.1l..")]
    assert {name: sum(part[name] for part in parts) for name in whole} == dict(whole)


def test_a_level_alone_is_its_part_alone(mixed: Path, by_level: Callable[[str], QueryResult]) -> None:
    """Beside the whole pool they may differ: levels stand beside all other levels, a part beside the rest."""
    groups = {group["level"]: group for group in by_level("setup").value["groups"]}
    lone = answer(mixed, read_part({"setup": "rack"}), None).value["components"]
    assert list(lone) == list(groups["rack"]["components"])
    for name, table in groups["rack"]["components"].items():
        assert table["alone"] == lone[name]["alone"]
        assert [row["members"] for row in table["shares"]] == [row["members"] for row in lone[name]["shares"]]


def test_a_part_borrows_and_the_whole_does_not(mixed: Path) -> None:
    whole = answer(mixed, read_part({"component": "perlite"}), None).value["components"]["perlite"]
    part = answer(mixed, read_part({"component": "perlite", "setup": "rack"}), None).value["components"][
        "perlite"
    ]
    assert "difference" not in whole
    assert {"difference", "share", "verdict", "alone"} <= set(part)
    assert "perlite in this part of the pool" in part["recommendation"]["text"]


def test_an_empty_part_is_an_answer_too(mixed: Path) -> None:
    answered = answer(mixed, read_part({"since": "2030-01-01"}), None)
    assert answered.counts == {"members": 0, "series": 0, "runs": 0}
    assert answered.value["components"] == {} and answered.value["groups"] == []
    json.dumps(answered.value, allow_nan=False)


def test_beside_another_share_that_share_is_named(mixed: Path) -> None:
    named, unnamed = (
        answer(mixed, read_part({"component": "pumice"}), None, against) for against in (40.0, 0.0)
    )
    assert named.value["against"] == 40.0
    assert "against" not in unnamed.value


def test_a_query_changes_nothing(mixed: Path) -> None:
    before = {path: path.stat().st_mtime_ns for path in sorted(mixed.rglob("*")) if path.is_file()}
    answer(mixed, read_part({"climate": "D"}), "pot")
    assert {path: path.stat().st_mtime_ns for path in sorted(mixed.rglob("*")) if path.is_file()} == before


def test_the_answer_names_what_was_asked_and_when_the_pool_last_changed(mixed: Path) -> None:
    value = answer(mixed, read_part({"climate": "Csb", "setup": "sieve"}), None).value
    assert value["where"] == {"climate": ["Csb"], "setup": ["sieve"]}
    last = json.loads((mixed / "journal.jsonl").read_text(encoding="utf-8").splitlines()[-1])
    assert value["as_of"] in json.dumps(last)

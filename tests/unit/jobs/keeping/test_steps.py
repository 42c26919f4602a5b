"""Keeping: which values of `results.json` agree, and the list of what waits."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.jobs.keeping.steps import (
    AGREE_WITHIN,
    FAR,
    NEAR,
    _compared,
    agree,
    verify_pool,
    waiting_by_member,
)
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.jobs.receiving.steps import Moment, load_batch
from tests.story.pool_fixture import small_sheet
from tests.story.sheets import BASELINE, PLAIN, sheet_text

NUMBERS = st.floats(-1e6, 1e6, allow_nan=False)
LEAVES = st.one_of(st.none(), st.booleans(), st.text(max_size=4), NUMBERS)
VALUES = st.recursive(
    LEAVES,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=12,
)


def nudged(value: Any, by: float) -> Any:
    """The value with every number moved by a part of itself."""
    if isinstance(value, dict):
        return {key: nudged(inner, by) for key, inner in value.items()}
    if isinstance(value, list):
        return [nudged(inner, by) for inner in value]
    return value * (1 + by) if isinstance(value, float) else value


def numbers_in(value: Any) -> list[float]:
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        return [number for inner in value for number in numbers_in(inner)]
    return [value] if isinstance(value, float) else []


@given(VALUES)
def test_a_value_agrees_with_itself_and_with_one_that_differs_in_the_last_digits(value: Any) -> None:
    assert agree(value, value)
    assert agree(value, nudged(value, 1e-9))
    assert _compared(json.dumps(value).encode(), json.dumps(value).encode()) is None


@given(VALUES)
def test_a_value_disagrees_where_a_number_moved_by_a_hundredth(value: Any) -> None:
    if any(abs(number) > 1 for number in numbers_in(value)):
        assert not agree(value, nudged(value, 0.01))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"a": 1.0}, {"b": 1.0}),
        ({"a": 1.0}, {"a": 1.0, "b": None}),
        ([1.0], [1.0, 1.0]),
        ([1.0, 2.0], [2.0, 1.0]),
        (None, 0.0),
        (True, 1),
        (False, 0.0),
        ("1", 1),
        ({"a": 1}, [["a", 1]]),
        (math.nan, 1.0),
    ],
)
def test_other_values_do_not_agree(one: Any, other: Any) -> None:
    assert not agree(one, other)
    assert not agree(other, one)


def test_how_far_two_results_are_apart_is_said() -> None:
    kept = b'{"ratio": 1.25}'
    assert _compared(kept, b'{"ratio": %r}' % (1.25 * (1 + AGREE_WITHIN / 10))) == NEAR
    assert _compared(kept, b'{"ratio": 1.26}') == FAR
    assert _compared(b"not json", kept) == FAR


def test_what_waits_is_listed_by_member_in_the_first_spelling(pool: Path) -> None:
    rows = [
        {**BASELINE, "member": "Newt-9", "poured": "300"},
        {**PLAIN, "member": "NEWT-9", "poured": "300"},
        {**PLAIN, "member": "adder-2", "poured": "300"},
        {**PLAIN, "member": "", "poured": "300"},
    ]
    sheets = [
        Sheet("held.csv", sheet_text(rows).encode()),
        Sheet("page.csv", b"<!DOCTYPE html><html></html>"),
    ]
    load_batch(pool, sheets, [Moment()] * 2, "tests", lambda _line: None)
    waiting = waiting_by_member(pool)
    assert [(row["member"], row["sheet_row"]) for row in waiting] == [
        ("adder-2", 4),
        ("Newt-9", 2),
        ("Newt-9", 3),
        (None, 5),
        (None, None),
    ]
    assert all(row["message"] and len(row["submission"]) == 64 for row in waiting)


def test_a_mended_row_waits_no_longer(pool: Path) -> None:
    held = Sheet("held.csv", small_sheet("newt-9", poured="300").encode())
    load_batch(pool, [held], [Moment()], "tests", lambda _line: None)
    assert {row["member"] for row in waiting_by_member(pool)} == {"newt-9"}
    load_batch(
        pool, [Sheet("mended.csv", small_sheet("newt-9").encode())], [Moment()], "tests", lambda _line: None
    )
    assert waiting_by_member(pool) == []


def test_a_sound_pool_verifies_and_a_line_taken_out_is_damage(pool: Path) -> None:
    assert not [finding for finding in verify_pool(pool, "tests", lambda _line: None) if finding.damage]
    lines = (pool / "journal.jsonl").read_bytes().splitlines(keepends=True)
    (pool / "journal.jsonl").write_bytes(b"".join(lines[:2] + lines[3:]))
    assert any(finding.damage for finding in verify_pool(pool, "tests", lambda _line: None))


def test_an_archived_file_that_was_changed_is_damage(pool: Path) -> None:
    archived = next(path for path in sorted((pool / "archive").rglob("*.csv")))
    archived.chmod(0o644)
    archived.write_bytes(archived.read_bytes().replace(b"1 l", b"2 l"))
    findings = [finding for finding in verify_pool(pool, "tests", lambda _line: None) if finding.damage]
    assert findings and archived.stem[:12] in " ".join(finding.where + finding.words for finding in findings)

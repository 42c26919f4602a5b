"""Journal lines: how they are chained, spelled, and read."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from pipeline.load.truth.journal import (
    FIRST_PREVIOUS,
    Change,
    JournalDamagedError,
    line_hash,
    line_text,
    parsed,
    written,
)
from schemas.trade.moments import moment_of, moment_text

AT = datetime(2026, 3, 10, 12, 0, 0, 5, tzinfo=UTC)
CHANGES = [Change("made", {"layout": 1}), Change("withdrawn", {"scope": "member"}, {"member_key": "fen-07"})]


def test_lines_are_numbered_and_each_carries_the_hash_of_the_one_before() -> None:
    first, second = written(CHANGES, None, AT, "coordinator")
    (third,) = written(CHANGES[:1], second, AT, "coordinator")
    assert [first.n, second.n, third.n] == [1, 2, 3]
    assert [first.previous, second.previous, third.previous] == [FIRST_PREVIOUS, first.hash, second.hash]


def test_a_line_is_read_as_it_was_written() -> None:
    for line in written(CHANGES, None, AT, "Zoë"):
        assert parsed(line_text(line).rstrip("\n").encode(), line.n) == line


def test_moments_are_whole_seconds_and_never_before_the_line_before() -> None:
    (first,) = written(CHANGES[:1], None, AT, "x")
    (second,) = written(CHANGES[:1], first, datetime(2026, 1, 1, tzinfo=UTC), "x")
    assert moment_text(first.at) == moment_text(second.at) == "2026-03-10T12:00:00Z"
    assert moment_of("2026-03-10T12:00:00Z") == first.at


def test_blanking_the_private_part_leaves_the_chain_whole() -> None:
    line = written(CHANGES, None, AT, "x")[1]
    blank = replace(line, private=None)
    assert line_hash(blank) == line.hash
    assert blank.erased
    assert parsed(line_text(blank).rstrip("\n").encode(), 2) == blank


def test_a_short_code_can_not_be_guessed_from_its_hash() -> None:
    one, other = (written(CHANGES, None, AT, "x")[1] for _ in range(2))
    assert one.private_sha256 != other.private_sha256


@pytest.mark.parametrize(
    ("before", "after"),
    [("fen-07", "fen-08"), ('"n":2', '"n":3'), ("member", "series"), ('":"', '": "'), ('"x"', '"y"')],
)
def test_any_change_of_a_line_is_found(before: str, after: str) -> None:
    text = line_text(written(CHANGES, None, AT, "x")[1]).rstrip("\n")
    assert before in text
    with pytest.raises(JournalDamagedError, match=r"journal\.jsonl line 2"):
        parsed(text.replace(before, after, 1).encode(), 2)

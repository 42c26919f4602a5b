"""Questions to members and what became of them, out of the journal."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import polars as pl

from pipeline.jobs.decisions.questions import questions_in, set_aside_in
from pipeline.load.truth.journal import Line

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)
ABOUT = {"member_key": "fen-07", "series_key": "sill", "series": "Sill"}


def line(
    number: int, event: str, private: dict[str, Any] | None, payload: dict[str, Any] | None = None
) -> Line:
    return Line(number, NOON, "x", event, payload or {"scope": "series"}, private, None, "", "")


def test_a_question_is_open_until_it_is_answered_or_settled() -> None:
    asked = line(1, "asked", {**ABOUT, "reason": "Did it?"})
    (one,) = questions_in([asked])
    assert (one.words, one.series, one.open) == ("Did it?", "Sill", True)
    (one,) = questions_in([asked, line(2, "answered", {**ABOUT, "words": "It did."})])
    assert (one.answer, one.open, one.settled) == ("It did.", False, "")
    (one,) = questions_in([asked, line(2, "kept", ABOUT)])
    assert (one.settled, one.open) == ("kept", False)


def test_asking_again_opens_it_again_and_others_are_not_touched() -> None:
    lines = [
        line(1, "asked", ABOUT),
        line(2, "kept", ABOUT),
        line(3, "asked", {**ABOUT, "reason": "And now?"}),
        line(4, "answered", {"member_key": "otter-3", "words": "no"}),
    ]
    (one,) = questions_in(lines)
    assert (one.line, one.open, one.words) == (3, True, "And now?")


def test_a_question_about_a_row_finds_whose_it_is() -> None:
    runs = pl.DataFrame(
        {
            "member_key": ["fen-07"],
            "series_key": ["sill"],
            "series": ["Sill"],
            "submission": ["ab"],
            "sheet_row": [4],
        }
    )
    asked = line(1, "asked", {"reason": "Really?"}, {"scope": "row", "submission": "ab", "sheet_row": 4})
    (one,) = questions_in([asked], runs)
    assert (one.member_key, one.series, one.words) == ("fen-07", "Sill", "Really?")
    assert (
        questions_in([line(1, "asked", None, {"scope": "row", "submission": "ab", "sheet_row": 9})], runs)
        == []
    )


def test_an_erased_question_is_nobodys() -> None:
    assert questions_in([line(1, "asked", None)]) == []


def test_what_was_kept_after_all_is_not_set_aside_any_more() -> None:
    other = {"member_key": "otter-3", "reason": "cracked pot"}
    lines = [
        line(1, "set_aside", {**ABOUT, "reason": "odd"}),
        line(2, "set_aside", other),
        line(3, "kept", ABOUT),
    ]
    (one,) = set_aside_in(lines)
    assert (one.member_key, one.series, one.words, one.by) == ("otter-3", None, "cracked pot", "x")
    assert set_aside_in([line(1, "set_aside", None)]) == []

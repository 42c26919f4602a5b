"""Names that members chose, out of the journal."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import polars as pl

from pipeline.jobs.month.nicknames import every_name, nicknames_in, renamed, spoken_names
from pipeline.load.truth.journal import Line

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)


def line(number: int, member: str | None, words: str, event: str = "named") -> Line:
    private: dict[str, Any] | None = None if member is None else {"member_key": member, "words": words}
    return Line(number, NOON, "x", event, {}, private, None, "", "")


def test_the_last_word_counts_and_a_blank_one_goes_back_to_the_code() -> None:
    lines = [
        line(1, "fen-07", "Reed"),
        line(2, "fen-07", "Rush"),
        line(3, "otter-3", "Otti"),
        line(4, "otter-3", ""),
    ]
    assert nicknames_in(lines) == {"fen-07": "Rush"}
    assert every_name(lines, "fen-07") == ["Reed", "Rush"]


def test_of_two_with_one_name_the_first_keeps_it_and_erased_lines_name_nobody() -> None:
    assert nicknames_in([line(1, "a-1", "Reed"), line(2, "b-2", "REED"), line(3, None, "")]) == {
        "a-1": "Reed"
    }
    assert nicknames_in([line(1, "a-1", "Reed", "answered")]) == {}


def test_no_member_is_shown_under_anothers_code() -> None:
    runs = pl.DataFrame({"member": ["Fen-07", "otter-3"], "member_key": ["fen-07", "otter-3"]})
    assert spoken_names(runs, {"fen-07": "Otter-3", "otter-3": "Reed"}) == {"otter-3": "Reed"}
    assert renamed(runs, {"otter-3": "Reed"})["member"].to_list() == ["Fen-07", "Reed"]
    assert renamed(runs, {}).equals(runs)

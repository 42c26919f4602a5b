"""Runs set aside, counted by the public kind of the coordinator's reasons."""

from __future__ import annotations

from pathlib import Path

from pipeline.load.changes.decisions import keep, set_aside
from pipeline.load.truth.records import EVERYTHING, Cutoff, Selection
from pipeline.load.views.aside import set_aside_by_reason
from tests.store.plain_sheets import opened, send, sheet

SENT = sheet(("m1", "s", 0, 1, 1, 50), ("m1", "s", 40, 1, 1, 30), ("m2", "s", 0, 1, 1, 40))


def test_the_last_reason_counts_and_kept_runs_are_gone(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", SENT))
        set_aside(writer, Selection(member="m1"), "the jug", "leak")
        set_aside(writer, Selection(member="m2"), "wet hands")
    assert set_aside_by_reason(pool, EVERYTHING).rows() == [("a leak", 2), ("other reasons", 1)]
    with opened(pool) as writer:
        before = writer.next_line()
        keep(writer, Selection(member="m1"), "no leak after all")
        set_aside(writer, Selection(member="m2"), "floated grains", "doubtful")
    assert set_aside_by_reason(pool, EVERYTHING).rows() == [("doubtful", 1)]
    assert set_aside_by_reason(pool, Cutoff(known_before=before)).rows() == [
        ("a leak", 2),
        ("other reasons", 1),
    ]


def test_nothing_set_aside_is_an_empty_frame(tmp_path: Path) -> None:
    with opened(tmp_path / "pool") as writer:
        send(writer, ("a.csv", SENT))
    assert set_aside_by_reason(tmp_path / "pool", EVERYTHING).rows() == []

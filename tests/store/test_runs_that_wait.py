"""Accepted runs that wait for an answer: counted nowhere, at every cutoff as it was known there."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from pipeline.load.changes.decisions import keep, restore, set_aside, withdraw
from pipeline.load.keeping.rebuilding import rebuild
from pipeline.load.truth.records import Cutoff, Selection
from pipeline.load.views.preview import would_wait
from pipeline.load.views.reading import view
from tests.store.plain_sheets import SETTINGS, Clock, check, opened, send, sheet, times

SLIP = (0, 1, 1, 50), (40, 1, 1, 30), (40, 2, 1, 1920), (60, 1, 1, 25)
SENT = sheet(*(("m1", "s", *row) for row in SLIP))
"""The third run is 64 times slower than its fellows."""
ODD = Selection(member="m1", series="s")


def waits(pool: Path, cutoff: Cutoff | None = None) -> list[tuple[str, float, int, int, float]]:
    return times(view(pool, cutoff or Cutoff()).waiting)


def test_a_slip_waits_alone_and_is_counted_nowhere(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", SENT))
    seen = view(pool)
    assert waits(pool) == [("s", 40.0, 2, 1, 1920.0)]
    assert len(times(seen.runs)) == seen.counts["runs"] == 3 and seen.counts["waits"] == 1
    assert seen.standing.height == 4 and seen.receipts["in_force"].to_list() == [3]
    asked = seen.waiting.row(0, named=True)
    assert (asked["rule"], asked["factor"], asked["too_fast"], asked["column"]) == (
        "run_waits",
        60.0,
        False,
        "drain_time",
    )


def test_an_answer_counts_from_the_line_where_it_was_known(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", SENT))
        before = Cutoff(known_before=writer.next_line())
        keep(writer, ODD, "it was clogged")
        kept = Cutoff(known_before=writer.next_line())
        set_aside(writer, ODD, "on second thought")
        aside = Cutoff(known_before=writer.next_line())
        keep(writer, ODD, "true after all")
        withdraw(writer, ODD, "wrong pot")
        restore(writer, ODD, "right pot")
    counted = [len(times(view(pool, cutoff).runs)) for cutoff in (before, kept, aside, Cutoff())]
    assert counted == [3, 4, 0, 4]
    assert [len(waits(pool, cutoff)) for cutoff in (before, kept, aside, Cutoff())] == [1, 0, 0, 0]


def test_a_mended_run_waits_no_longer_and_a_rebuilt_pool_says_the_same(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", SENT))
        before = Cutoff(known_before=writer.next_line())
        send(writer, ("b.csv", sheet(("m1", "s", 40, 2, 1, 32))))
    assert waits(pool) == [] and len(times(view(pool).runs)) == 4
    rebuild(pool, say=lambda _: None, recheck=check)
    assert waits(pool) == [] and waits(pool, before) == [("s", 40.0, 2, 1, 1920.0)]


def test_the_later_of_two_equal_series_waits_until_somebody_keeps_it(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    rows = (0, 1, 1, 50), (20, 1, 1, 40), (40, 1, 1, 30)
    with opened(pool) as writer:
        send(writer, ("a.csv", sheet(*(("m2", "bench", *row) for row in rows))))
        send(writer, ("b.csv", sheet(*(("m1", "kitchen", *row) for row in reversed(rows)))))
        send(writer, ("c.csv", sheet(*(("m1", "shed", *row) for row in rows[:2]))))
    waiting = view(pool).waiting
    assert waiting.select("member", "series", "rule", "earlier_member", "earlier_series").unique().rows() == [
        ("m1", "kitchen", "series_waits", "m2", "bench")
    ]
    assert waiting.height == 3
    with opened(pool) as writer:
        keep(writer, Selection(member="m1", series="kitchen"), "a second test, to the second")
    assert view(pool).waiting.is_empty()


def test_a_preview_says_what_would_wait_beside_the_pool(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(
            writer,
            ("a.csv", sheet(("m1", "s", 0, 1, 1, 50), ("m1", "s", 40, 1, 1, 30), ("m1", "s", 60, 1, 1, 25))),
        )
    files = [("b.csv", sheet(("m1", "s", 20, 1, 1, 2400), ("m1", "s", 50, 1, 1, 28)))]
    checked = check(files, Clock()().date(), SETTINGS)
    assert would_wait(pool, checked).select("file_id", "sheet_row", "rule").rows() == [(0, 2, "run_waits")]
    assert view(pool).waiting.is_empty()
    with opened(pool) as writer:
        send(writer, *files)
    assert view(pool).waiting["sheet_row"].to_list() == [2]
    assert would_wait(pool, checked).filter(pl.col("sheet_row") == 2).height == 1

"""One member, one series, however they are spelled: mending, withdrawing, restoring, holding, answering, erasing."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.load.changes.decisions import ask, keep, restore, set_aside, withdraw
from pipeline.load.changes.erasing import erase
from pipeline.load.truth.records import Selection
from pipeline.load.views.reading import view
from schemas.trade.labels import mentions
from tests.store.plain_sheets import opened, send, sheet
from tests.unit.schemas.trade.test_labels import spellings

MEMBER, SERIES = "müll-07", "tom's bench-1"
TABLE = [
    ("Müll‐07", "Tom’s bench−1"),
    ("mu\u0308ll-07", "tom`s  bench—1"),
    ("mü\u00adll-07", "to\u200bm's\u00a0bench-1"),
    ("\ufeffMÜLL‑07", "TOM'S BENCH-1"),
]


def _story(folder: Path, first: tuple[str, str], then: tuple[str, str]) -> None:
    pool = folder / "pool"
    member, series = then
    with opened(pool) as writer:
        send(
            writer,
            ("one.csv", sheet((*first, 0, 1, 1, 310), (*first, 40, 1, 1, 190), (*first, 40, 2, 1, "x"))),
        )
        send(writer, ("other.csv", sheet(("stays-1", "shelf", 0, 1, 1, 300), (*first, 60, 1, 1, 150))))
        (mended,) = send(writer, ("two.csv", sheet((*then, 40, 1, 1, 200), (*then, 40, 2, 1, 210))))
        assert mended.notes[0].startswith("mended 1, added 1, kept 2")
    seen = view(pool)
    assert seen.counts["members"] == 2 and seen.counts["series"] == 2 and seen.counts["runs"] == 5
    assert seen.held.is_empty(), "the mended row takes the held one off the list"
    with opened(pool) as writer:
        one = Selection(member, series)
        for change, runs in ((withdraw, 4), (restore, 4), (set_aside, 4), (keep, 4), (ask, 4)):
            assert change(writer, one, "why").runs == runs
        assert withdraw(writer, Selection(member), f"{member} said so").runs == 4
    assert view(pool).counts["members"] == 1
    with opened(pool) as writer:
        gone = erase(writer, member, f"asked by {first[0]}")
    assert (gone.runs, gone.held) == (5, 1)
    key = "müll-07"
    for path in pool.rglob("*"):
        if path.is_file():
            content = path.read_bytes()
            for spelled in (first[0], then[0], MEMBER):
                assert spelled.encode() not in content, path.name
            if path.suffix in (".json", ".jsonl"):
                assert not mentions(content.decode(), key), path.name


@pytest.mark.parametrize("first", TABLE)
def test_the_table_of_spellings(first: tuple[str, str], tmp_path: Path) -> None:
    _story(tmp_path, first, (MEMBER, SERIES))


@settings(max_examples=3, deadline=None)
@given(
    st.tuples(spellings(MEMBER), spellings(SERIES)).filter(lambda pair: "," not in "".join(pair)),
    st.tuples(spellings(MEMBER), spellings(SERIES)),
)
def test_any_spelling(first: tuple[str, str], then: tuple[str, str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        _story(Path(folder), first, then)

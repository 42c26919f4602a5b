"""What a sheet mends, counted."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.load.views.mending import mending_counts, mending_sentence
from schemas.kinds.run import RUN
from tests.unit.load.views.test_status import day, line, receipts, runs


def counts(
    cells: list[tuple[int, float, int]], new: int, whole: tuple[int, ...] = (), decided: bool = False
) -> dict[str, object]:
    days = receipts(*(day(3, number) for number in range(1, new + 1)), whole=whole)
    lines = [line(new, "withdrawn", scope="submission", submission="hash1")] if decided else []
    found = mending_counts(runs(*cells), days, lines, [new], RUN)
    return found.row(0, named=True) if found.height else {}


def test_mended_added_and_kept() -> None:
    found = counts([(1, 0.0, 1), (1, 40.0, 1), (1, 40.0, 2), (2, 40.0, 1), (2, 55.0, 1)], 2)
    expected = {"receipt": 2, "mended": 1, "added": 1, "kept": 2, "gone": 0, "dates": [date(2026, 3, 1)]}
    assert found == {**expected, "replaced": 0, "replaced_by": []}


def test_a_whole_series_keeps_nothing() -> None:
    found = counts([(1, 0.0, 1), (1, 40.0, 1), (2, 0.0, 1)], 2, whole=(2,))
    assert (found["mended"], found["added"], found["kept"], found["gone"]) == (1, 0, 0, 1)


def test_what_was_mended_before_is_not_kept_again() -> None:
    found = counts([(1, 0.0, 1), (2, 0.0, 1), (3, 40.0, 1)], 3)
    assert (found["mended"], found["kept"], found["dates"]) == (0, 1, [date(2026, 3, 2)])


def test_withdrawn_runs_are_neither_mended_nor_kept() -> None:
    assert counts([(1, 0.0, 1), (1, 40.0, 1), (2, 0.0, 1)], 2, decided=True) == {}


def test_a_first_sheet_mends_nothing() -> None:
    assert counts([(1, 0.0, 1)], 1) == {}


@pytest.mark.parametrize(
    ("days", "whole", "gone", "words"),
    [
        ([date(2026, 3, 14)], False, 0, "mended 1, added 2, kept 11 from the sheet of 2026-03-14"),
        (
            [date(2026, 3, 1), date(2026, 3, 2)],
            False,
            0,
            "mended 1, added 2, kept 11 from the sheets of 2026-03-01, 2026-03-02",
        ),
    ],
)
def test_the_advice_line(days: list[date], whole: bool, gone: int, words: str) -> None:
    counted = {"mended": 1, "added": 2, "kept": 11, "gone": gone, "dates": days, "replaced": 0}
    assert mending_sentence(counted, whole) == words


def test_a_sheet_received_before_others_says_what_of_it_does_not_count() -> None:
    days = receipts(day(3, 2), day(3, 9), day(3, 1))
    found = mending_counts(
        runs((1, 0.0, 1), (2, 40.0, 1), (3, 0.0, 1), (3, 40.0, 1), (3, 55.0, 1)), days, [], [3], RUN
    ).row(0, named=True)
    assert (found["replaced"], found["replaced_by"]) == (2, [date(2026, 3, 2), date(2026, 3, 9)])
    assert (found["mended"], found["dates"]) == (0, [])
    said = "2 runs of this sheet have been replaced already, by the sheets of 2026-03-02, 2026-03-09"
    assert mending_sentence(found, False) == said

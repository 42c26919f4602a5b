"""Lists of row numbers as a person would write them in a sentence."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def row_ranges(rows: Iterable[int]) -> list[str]:
    """Row numbers in order, runs of three or more as a range: `["2-5", "7", "9"]`."""
    told: list[str] = []
    run: list[int] = []
    for row in sorted(set(rows)):
        if run and row != run[-1] + 1:
            told.extend(_span(run))
            run = []
        run.append(row)
    return told + _span(run)


def named_rows(rows: Iterable[int], at_most: int = 8) -> str:
    """`row 5`, or `rows 2-4 and 9`; beyond `at_most` entries their number only, so that a message about
    thousands of rows stays a sentence."""
    rows = set(rows)
    listed = row_ranges(rows)
    word = "row" if len(rows) == 1 else "rows"
    if len(listed) > at_most:
        return f"{word} {', '.join(listed[:at_most])} … ({len(rows)} in all)"
    return f"{word} {listing(listed)}"


def listing(words: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    *before, last = words
    return f"{', '.join(before)} and {last}" if before else last


def _span(run: list[int]) -> list[str]:
    return [f"{run[0]}-{run[-1]}"] if len(run) > 2 else [str(row) for row in run]

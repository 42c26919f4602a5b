"""Numbers and lists of rows as a person would write them in a message."""

from __future__ import annotations

from collections.abc import Iterable

import polars as pl


def figures(quantity: str | pl.Expr, significant: int = 4) -> pl.Expr:
    """The quantity as text with that many significant figures and no trailing `.0`: 236.6, 300, 0.00012."""
    number = pl.col(quantity) if isinstance(quantity, str) else quantity
    return number.round_sig_figs(significant).cast(pl.String).str.strip_suffix(".0")


def figures_of(number: float, significant: int = 4) -> str:
    """The same for one number."""
    return str(float(f"{number:.{significant}g}")).removesuffix(".0")


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
    *before, last = listed
    return f"{word} {', '.join(before)} and {last}" if before else f"{word} {last}"


def _span(run: list[int]) -> list[str]:
    return [f"{run[0]}-{run[-1]}"] if len(run) > 2 else [str(row) for row in run]

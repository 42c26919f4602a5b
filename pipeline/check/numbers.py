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
    return pl.select(figures(pl.lit(float(number)), significant)).item()  # type: ignore[no-any-return]


def row_ranges(rows: Iterable[int]) -> str:
    """Row numbers, runs of three or more written as a range: `2-5, 7, 9, 10`."""
    told: list[str] = []
    first = last = None
    for row in [*sorted(set(rows)), None]:
        if last is not None and row == last + 1:
            last = row
            continue
        if first is not None and last is not None:
            told.extend(_span(first, last))
        first = last = row
    return ", ".join(told)


def named_rows(rows: Iterable[int]) -> str:
    """`row 5`, or `rows 2-4 and 9`."""
    rows = sorted(set(rows))
    listed = row_ranges(rows)
    before, comma, after = listed.rpartition(", ")
    joined = f"{before} and {after}" if comma else after
    return f"row {joined}" if len(rows) == 1 else f"rows {joined}"


def _span(first: int, last: int) -> list[str]:
    if last - first >= 2:
        return [f"{first}-{last}"]
    return [str(row) for row in range(first, last + 1)]

"""A kind's accepted rows as a pandera model: what a row must be, in canonical names and units, to stand in the pool.

Made from the kind's columns and `schemas.vocabulary`, so that a column is described once. Importing pandera
takes a tenth of a second: import this module where a frame is about to be checked, not before.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from datetime import date
from typing import Any

import pandera.polars as pa
import polars as pl

from schemas.column import Kept, Limits
from schemas.frame_types import polars_type
from schemas.kinds.kind import SheetKind
from schemas.vocabulary import CHOICES

FIRST_DAY = date(1980, 1, 1)
ROUNDING = 1 + 1e-9


@functools.cache
def row_model(kind: SheetKind, without: frozenset[str] = frozenset()) -> pa.DataFrameSchema:
    """The model of a frame of accepted rows: its columns in the fixed order, their types, limits and allowed
    words, and what must hold between columns. `without` leaves out columns that may be blank and are blank in
    every row, which fit by themselves; a small sheet has many.

    Validate a frame, lazily, never a LazyFrame: that would pass without being looked at. Nothing is coerced,
    dropped or defaulted."""
    columns = [kept for kept in kind.kept if not (kept.nullable and kept.name in without)]
    names = {kept.name for kept in columns}
    return pa.DataFrameSchema(
        {kept.name: _column(kind, kept) for kept in columns},
        checks=[
            _between(name, holds)
            for name, (holds, _) in BETWEEN.items()
            if set(holds.meta.root_names()) <= names
        ],
        strict=True,
        ordered=True,
        coerce=False,
        name=kind.title,
    )


def expected(kind: SheetKind, name: str) -> str:
    """In a receipt's words, what the pool keeps in that column of an accepted row."""
    kept = next(kept for kept in kind.kept if kept.name == name)
    words = _choices(kind, kept)
    if words:
        value = f"one of {', '.join(words)}"
    elif kept.pattern is not None:
        value = kept.pattern.words
    elif kept.length is not None:
        value = f"a text of at most {kept.length[1]} characters"
    elif kept.frame == "date":
        value = f"a day from {FIRST_DAY} on"
    elif kept.limits is not None and kept.frame == "whole":
        value = kept.limits.words("").replace("a number", "a whole number")
    elif kept.limits is not None:
        value = kept.limits.words(kept.unit)
    else:
        value = "a value"
    return f"{value}, {BETWEEN[name][1]}" if name in BETWEEN else value


BETWEEN: dict[str, tuple[pl.Expr, str]] = {
    "collected_ml": (
        pl.col("collected_ml") <= pl.col("poured_ml") * ROUNDING,
        "not more than was poured",
    ),
    "component": (
        (pl.col("component_share") == 0) | pl.col("component").is_not_null(),
        "not blank where the share is above 0 %",
    ),
    "component_grade": (
        (pl.col("component_share") == 0) | pl.col("component_grade").is_not_null(),
        "not blank where the share is above 0 %",
    ),
    "component_min_size_mm": (
        (pl.col("component_min_size_mm") <= pl.col("component_max_size_mm") * ROUNDING).fill_null(True),
        "not above the largest size",
    ),
}
"""What must hold between columns: the column that a finding names -> (what is true of a right row, in words)."""


def _column(kind: SheetKind, kept: Kept) -> pa.Column:
    """A fresh pandera column (a shared one would make its twin vanish from the model)."""
    checks: list[pa.Check] = []
    words = _choices(kind, kept)
    if words:
        checks.append(pa.Check.isin(list(words)))
    if kept.pattern is not None:
        checks.append(pa.Check.str_matches(kept.pattern.regex))
    if kept.length is not None:
        shortest, longest = kept.length
        checks.append(_holds("length", lambda text: text.str.len_chars().is_between(shortest, longest)))
    if kept.frame == "date":
        checks.append(pa.Check.ge(FIRST_DAY))
    if kept.limits is not None:
        limits = kept.limits
        checks.append(_holds("within limits", lambda value: within(limits, value)))
    return pa.Column(polars_type(kept.frame), checks, nullable=kept.nullable, required=True)


def within(limits: Limits, value: pl.Expr) -> pl.Expr:
    """True where the value keeps the limits. NaN and infinity keep none, though NaN passes a comparison."""
    lowest = value > limits.low if limits.above else value >= limits.low
    highest = value <= limits.high if limits.high is not None else pl.lit(True)
    return lowest & highest & value.is_finite()


def _choices(kind: SheetKind, kept: Kept) -> tuple[str, ...]:
    """The allowed words of a column, as the pool writes them; empty where it has no list of words."""
    column = kind.by_kept_name.get(kept.name)
    if column is None or column.choices is None:
        return ()
    return tuple(choice.value for choice in CHOICES[column.choices])


def _holds(name: str, true_of: Callable[[pl.Expr], pl.Expr]) -> pa.Check:
    def look(data: Any) -> pl.LazyFrame:
        looked: pl.LazyFrame = data.lazyframe.select(true_of(pl.col(data.key)))
        return looked

    return pa.Check(look, name=name)


def _between(name: str, holds: pl.Expr) -> pa.Check:
    def look(data: Any) -> pl.LazyFrame:
        looked: pl.LazyFrame = data.lazyframe.select(holds)
        return looked

    return pa.Check(look, name=name)

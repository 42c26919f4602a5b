"""The run sheet as a pandera model: what a row must be, in canonical names and units, to stand in the pool.

Made from `schemas.columns` and `schemas.vocabulary`, so that a column is described once. Importing pandera
takes a tenth of a second: import this module where a frame is about to be checked, not before.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandera.polars as pa
import polars as pl

from schemas.columns import RUN_COLUMNS, SHEET_COLUMNS, RunColumn
from schemas.vocabulary import CHOICES

FRAME_TYPES: dict[str, pl.DataType] = {
    "text": pl.String(),
    "date": pl.Date(),
    "number": pl.Float64(),
    "whole": pl.Int64(),
    "flag": pl.Boolean(),
}
FIRST_DAY = date(1980, 1, 1)
CODE = r"^[^\W_](?:[^\W_]|-){1,31}$"
PATTERNS: dict[str, tuple[str, str]] = {
    **dict.fromkeys(
        ("member", "club", "round", "peat_lot", "component_lot"),
        (CODE, "a code of 2-32 letters, digits or hyphens"),
    ),
    "submission": (r"^[0-9a-f]{64}$", "the hash of the sheet"),
}
LENGTHS: dict[str, tuple[int, int]] = {"series": (1, 64), "notes": (0, 500)}


@dataclass(frozen=True)
class Limits:
    """Smallest and largest value of a number column; `above` where the smallest itself is not allowed."""

    low: float
    high: float | None = None
    above: bool = False

    def words(self, unit: str) -> str:
        """The limits as a receipt tells them, such as `a number from 20 to 500000 ml`."""
        start = f"above {self.low:g}" if self.above else f"from {self.low:g}"
        end = "" if self.high is None else f" to {self.high:g}"
        return f"a number {start}{end} {unit}".strip()

    def hold(self, value: pl.Expr) -> pl.Expr:
        """True where the value keeps the limits. NaN and infinity keep none, though NaN passes a comparison."""
        lowest = value > self.low if self.above else value >= self.low
        highest = value <= self.high if self.high is not None else pl.lit(True)
        return lowest & highest & value.is_finite()


_POSITIVE = Limits(0, above=True)
LIMITS: dict[str, Limits] = {
    "pot_volume_ml": Limits(20, 500_000),
    "component_share": Limits(0, 100),
    "water_temp_c": Limits(0, 45),
    "pot_no": Limits(1),
    "pour_no": Limits(1),
    "run_order": Limits(0),
    "drain_holes": Limits(0),
    "taps": Limits(0),
    "sheet_row": Limits(1),
    **dict.fromkeys(
        (
            *("poured_ml", "collected_ml", "came_out_ml", "drain_time_s", "pour_time_s"),
            *("pot_top_diameter_cm", "pot_base_diameter_cm", "fill_depth_cm", "hole_size_mm"),
            *("component_min_size_mm", "component_max_size_mm"),
        ),
        _POSITIVE,
    ),
    "rest_before_h": Limits(0),
    "mix_age_days": Limits(0),
}
ROUNDING = 1 + 1e-9


@functools.cache
def run_sheet(without: frozenset[str] = frozenset()) -> pa.DataFrameSchema:
    """The model of a frame of accepted runs: its columns in the fixed order, their types, limits and allowed
    words, and what must hold between columns. `without` leaves out columns that may be blank and are blank in
    every row, which fit by themselves; a small sheet has many.

    Validate a frame, lazily, never a LazyFrame: that would pass without being looked at. Nothing is coerced,
    dropped or defaulted."""
    columns = [column for column in RUN_COLUMNS if not (column.nullable and column.name in without)]
    names = {column.name for column in columns}
    return pa.DataFrameSchema(
        {column.name: _column(column) for column in columns},
        checks=[
            _between(name, holds)
            for name, (holds, _) in BETWEEN.items()
            if set(holds.meta.root_names()) <= names
        ],
        strict=True,
        ordered=True,
        coerce=False,
        name="run sheet",
    )


def expected(column_name: str) -> str:
    """In a receipt's words, what the pool keeps in that column of the run frame."""
    column = next(one for one in RUN_COLUMNS if one.name == column_name)
    words = _choices(column)
    if words:
        told = f"one of {', '.join(words)}"
    elif column.name in PATTERNS:
        told = PATTERNS[column.name][1]
    elif column.name in LENGTHS:
        told = f"a text of at most {LENGTHS[column.name][1]} characters"
    elif column.frame == "date":
        told = f"a day from {FIRST_DAY} on"
    elif column.frame == "whole":
        told = LIMITS[column.name].words("").replace("a number", "a whole number")
    elif column.frame == "number":
        told = LIMITS[column.name].words(column.unit)
    else:
        told = "a value"
    return f"{told}, {BETWEEN[column_name][1]}" if column_name in BETWEEN else told


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


def _column(column: RunColumn) -> pa.Column:
    """A fresh pandera column (a shared one would make its twin vanish from the model)."""
    checks: list[pa.Check] = []
    words = _choices(column)
    if words:
        checks.append(pa.Check.isin(list(words)))
    if column.name in PATTERNS:
        checks.append(pa.Check.str_matches(PATTERNS[column.name][0]))
    if column.name in LENGTHS:
        shortest, longest = LENGTHS[column.name]
        checks.append(_holds("length", lambda text: text.str.len_chars().is_between(shortest, longest)))
    if column.frame == "date":
        checks.append(pa.Check.ge(FIRST_DAY))
    if column.name in LIMITS:
        checks.append(_holds("within limits", LIMITS[column.name].hold))
    return pa.Column(FRAME_TYPES[column.frame], checks, nullable=column.nullable, required=True)


def _choices(column: RunColumn) -> tuple[str, ...]:
    """The allowed words of a column, as the pool writes them; empty where it has no list of words."""
    name = next((one.choices for one in SHEET_COLUMNS if one.name == column.name), None)
    return tuple(choice.value for choice in CHOICES[name]) if name else ()


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

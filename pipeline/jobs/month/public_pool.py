"""The runs as everyone may see them: no notes, no lots, small groups coarsened, days by month, cells made harmless."""

from __future__ import annotations

import polars as pl

from schemas.formula_guards import GUARD
from schemas.kinds.run import RUN
from schemas.trade.small_numbers import MONTH, coarsened

RATE = "rate_ml_min_l"
RUNS_AS_FORMULA = rf"^{GUARD}*[=+\-@\t\r|]"
"""A text that begins with one of STARTS_A_FORMULA of `schemas.formula_guards`, or looks guarded already."""
PLAIN_NUMBER = r"^[+-]?[0-9]+(\.[0-9]+)?$"
ORDER = ("member", "series", "component_share", "pot_no", "pour_no")


def public_runs(runs: pl.DataFrame) -> pl.DataFrame:
    """One row per run in force, in the order member, series, share, pot, pour; `tested_on` as `2026-03`."""
    names = [kept.name for kept in RUN.kept if kept.published]
    names.insert(names.index("submission"), RATE)
    return (
        coarsened(runs)
        .with_columns(pl.col("tested_on").dt.strftime(MONTH))
        .sort("member_key", "series_key", *ORDER[2:], "submission", "sheet_row")
        .select(names)
        .with_columns(
            _harmless(name)
            for name, kind in {**runs.schema, "tested_on": pl.String}.items()
            if name in names and kind == pl.String
        )
    )


def _harmless(name: str) -> pl.Expr:
    """Text that a spreadsheet would run as a formula gets an apostrophe in front, plain numbers excepted."""
    cells = pl.col(name)
    risky = cells.str.contains(RUNS_AS_FORMULA) & ~cells.str.contains(PLAIN_NUMBER)
    return pl.when(risky).then(pl.lit(GUARD) + cells).otherwise(cells).alias(name)

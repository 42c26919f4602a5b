"""The runs as everyone may see them: no notes, no lots, small groups coarsened, cells made harmless.

Small numbers (contract section 3): a climate class with fewer than 3 members is written by its main letter,
and by nothing where that letter has fewer than 3; a hardiness half zone likewise by its zone; days by month.
"""

from __future__ import annotations

import polars as pl

from schemas.formula_guards import GUARD
from schemas.kinds.run import RUN

MEMBERS_TO_NAME_A_GROUP = 3
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
        .with_columns(pl.col("tested_on").dt.strftime("%Y-%m"))
        .sort("member_key", "series_key", *ORDER[2:], "submission", "sheet_row")
        .select(names)
        .with_columns(
            _harmless(name)
            for name, kind in {**runs.schema, "tested_on": pl.String}.items()
            if name in names and kind == pl.String
        )
    )


def coarsened(runs: pl.DataFrame) -> pl.DataFrame:
    """The same rows with places of fewer than 3 members blurred; `member_key` counts the members."""
    with_class = _blurred(runs, "climate_zone", pl.col("climate_zone").str.slice(0, 1), keep="unknown")
    return _blurred(with_class, "hardiness_zone", pl.col("hardiness_zone").str.extract(r"^([0-9]+)"))


def _blurred(runs: pl.DataFrame, name: str, wider: pl.Expr, keep: str | None = None) -> pl.DataFrame:
    """The column with each value of too few members replaced by its wider group, or by null."""
    stays = pl.col(name).is_null() | (pl.col(name) == keep) if keep else pl.col(name).is_null()
    with_wider = runs.with_columns(pl.when(stays).then(None).otherwise(wider).alias("wider"))

    def members(group: str) -> pl.Expr:
        return pl.col("member_key").n_unique().over(group)

    return with_wider.with_columns(
        pl.when(stays | (members(name) >= MEMBERS_TO_NAME_A_GROUP))
        .then(pl.col(name))
        .when(members("wider") >= MEMBERS_TO_NAME_A_GROUP)
        .then(pl.col("wider"))
        .otherwise(None)
        .alias(name)
    ).drop("wider")


def _harmless(name: str) -> pl.Expr:
    """Text that a spreadsheet would run as a formula gets an apostrophe in front, plain numbers excepted."""
    cells = pl.col(name)
    risky = cells.str.contains(RUNS_AS_FORMULA) & ~cells.str.contains(PLAIN_NUMBER)
    return pl.when(risky).then(pl.lit(GUARD) + cells).otherwise(cells).alias(name)

"""Small numbers: what everyone may see of few growers.

Contract, section 3: a climate class with fewer than 3 members is written by its main letter, and by nothing where that
letter has fewer than 3; a hardiness half zone likewise by its zone; dates by month; no figure rests on fewer than 3.
"""

from __future__ import annotations

import polars as pl

FEWEST_MEMBERS = 3
"""Members from which on a group has a name, and a figure is given."""
FEWER = f"fewer than {FEWEST_MEMBERS} growers"
MONTH = "%Y-%m"


def too_few_to_show(members: int) -> bool:
    """Whether a figure rests on too few members for everyone to see it."""
    return members < FEWEST_MEMBERS


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
        pl.when(stays | (members(name) >= FEWEST_MEMBERS))
        .then(pl.col(name))
        .when(members("wider") >= FEWEST_MEMBERS)
        .then(pl.col("wider"))
        .otherwise(None)
        .alias(name)
    ).drop("wider")

"""Repeats of one run under one name, and series that lack the baseline mix."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from pipeline.check.findings import Hit, RowRule, from_hits, sheet_name
from pipeline.check.numbers import figures_of, listing, named_rows
from schemas.columns import RUN_COLUMNS
from schemas.rules.series import COUNTED_ONCE

SAME_SHARE = 0.5
NAME = ("series_no", "share_no", "pot_no", "pour_no")
APART = {
    *("member", "series", "member_key", "series_key", "pot_volume_computed", "component_share"),
    *("pot_no", "pour_no", "run_order", "notes", "submission", "sheet_row", "part_marked", "unlike_pour"),
}
"""Columns that are part of a run's name, or in which two repeats of one run may differ."""
LIKENESS = tuple(column for column in RUN_COLUMNS if column.name not in APART)


def named_runs(rows: pl.DataFrame) -> pl.DataFrame:
    """The rows with `share_no`: shares of one pot and pour within 0.5 point of the next one are the same."""
    order = ["series_no", "pot_no", "pour_no", "component_share"]
    ordered = rows.select("position", *order).sort(order)
    apart = pl.any_horizontal(pl.col(name).ne_missing(pl.col(name).shift()) for name in order[:3])
    further = pl.col("component_share") - pl.col("component_share").shift() > SAME_SHARE + 1e-9
    shares = ordered.select("position", share_no=(apart | further).fill_null(True).cum_sum().cast(pl.UInt32))
    return rows.with_columns(shares.sort("position")["share_no"])


@dataclass(frozen=True)
class Repeats:
    """One name, one run: identical repeats are left out with advice, different ones are all held."""

    id: str = "repeat_differs"

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Findings on every row whose member, series, share, pot and pour another row has too."""
        named = named_runs(rows)
        again = named.filter(pl.len().over(NAME) > 1)
        if not again.height:
            return from_hits(rows, [])
        likeness = again.select(
            *("position", "sheet_row", "series", "component_share"),
            *NAME,
            *(
                pl.col(column.name).round_sig_figs(9) if column.frame == "number" else pl.col(column.name)
                for column in LIKENESS
            ),
        )
        names = [column.name for column in LIKENESS]
        kinds = likeness.group_by(*NAME, *names, maintain_order=True).agg(
            "position", "sheet_row", pl.col("series", "component_share").first()
        )
        return pl.concat([_same(rows, kinds), _different(rows, kinds)])


def _same(rows: pl.DataFrame, kinds: pl.DataFrame) -> pl.DataFrame:
    several = kinds.select("position", "sheet_row").filter(pl.col("position").list.len() > 1)
    hits = [
        Hit(position, "pot_no", COUNTED_ONCE, {"first": str(lines[0])})
        for positions, lines in several.iter_rows()
        for position in positions[1:]
    ]
    return from_hits(rows, hits)


def _different(rows: pl.DataFrame, kinds: pl.DataFrame) -> pl.DataFrame:
    apart = (
        kinds.group_by(NAME, maintain_order=True)
        .agg(
            pl.len().alias("kinds"),
            pl.col("position").list.first(),
            pl.col("sheet_row").list.first(),
            pl.col("series", "component_share").first(),
            *(pl.col(column.name).n_unique() for column in LIKENESS),
        )
        .filter(pl.col("kinds") > 1)
    )
    hits: list[Hit] = []
    for one in apart.iter_rows(named=True):
        details = {
            "rows": named_rows(one["sheet_row"]).removeprefix("rows "),
            "series": one["series"],
            "share": figures_of(one["component_share"]),
            "pot": str(one["pot_no"]),
            "pour": str(one["pour_no"]),
            "columns": listing([sheet_name(column) for column in LIKENESS if one[column.name] > 1]),
        }
        hits.extend(Hit(each, "pot_no", "repeat_differs", details) for each in one["position"])
    return from_hits(rows, hits)


@dataclass(frozen=True)
class Baseline:
    """Every series should have the baseline mix; `rows` are all rows of the sheets, held ones too."""

    rows: pl.DataFrame
    id: str = "no_baseline"

    def find(self, accepted: pl.DataFrame) -> pl.DataFrame:
        """Advice, once per series without an accepted row at 0 %, on the first accepted row of the series."""
        series = ["file_id", "member_key", "series_key"]
        has = accepted.filter(pl.col("component_share") == 0).select(series).unique()
        lacks = accepted.unique(series, keep="first", maintain_order=True).join(has, on=series, how="anti")
        if not lacks.height:
            return from_hits(accepted, [])
        held = (
            self.rows.filter(pl.col("component_share") == 0)
            .group_by(series)
            .agg(held_rows=pl.col("sheet_row"))
        )
        lacks = lacks.join(held, on=series, how="left", maintain_order="left")
        words = [
            "" if rows is None else f" ({named_rows(rows)} held)" for rows in lacks["held_rows"].to_list()
        ]
        lacks = lacks.with_columns(held_words=pl.Series(words, dtype=pl.String))
        details = {"series": pl.col("series"), "held": pl.col("held_words")}
        return RowRule(self.id, "component_share", pl.lit(True), details).find(lacks)

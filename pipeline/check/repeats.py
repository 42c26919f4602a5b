"""Repeats of one run under one name, and series that lack the baseline mix."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.check.findings import Hit, RowRule, from_hits
from pipeline.check.numbers import figures_of
from schemas.column import Kept
from schemas.kinds.kind import SheetKind
from schemas.rows_named import listing, named_rows
from schemas.rules.series import COUNTED_ONCE
from schemas.trade.shares import same_share


def likeness(kind: SheetKind) -> tuple[Kept, ...]:
    """The kept columns in which two repeats of one row are the same: all but those that name it, those that no
    member fills in, and those that may differ."""
    return tuple(
        column.kept
        for column in kind.columns
        if column.kept is not None
        and column.name not in kind.series
        and column.kept.name not in kind.place
        and not column.same_run_may_differ
    )


def _place(kind: SheetKind) -> tuple[list[str], str | None]:
    """The columns of a row's place in its series that are compared as they stand, and the share, if there is one."""
    shares = [name for name in kind.place if kind.by_kept_name[name].kind == "share"]
    return [name for name in kind.place if name not in shares], next(iter(shares), None)


def _name(kind: SheetKind) -> list[str]:
    exact, share = _place(kind)
    return ["series_no", *([] if share is None else ["share_no"]), *exact]


def named_rows_of(rows: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """The rows with `share_no`, where the kind has a share: shares of one pot and pour within 0.5 point of the
    next one are the same."""
    exact, share = _place(kind)
    if share is None:
        return rows
    order = ["series_no", *exact, share]
    ordered = rows.select("position", *order).sort(order)
    apart = pl.any_horizontal(pl.col(name).ne_missing(pl.col(name).shift()) for name in order[:-1])
    further = ~same_share(pl.col(share) - pl.col(share).shift())
    shares = ordered.select("position", share_no=(apart | further).fill_null(True).cum_sum().cast(pl.UInt32))
    return rows.with_columns(shares.sort("position")["share_no"])


@dataclass(frozen=True)
class Repeats:
    """One name, one run: identical repeats are left out with advice, different ones are all held."""

    kind: SheetKind
    id: str = "repeat_differs"

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Findings on every row whose member, series and place in it another row has too."""
        name = _name(self.kind)
        again = named_rows_of(rows, self.kind).filter(pl.len().over(name) > 1)
        if not again.height:
            return from_hits(rows, [])
        alike = again.select(
            *dict.fromkeys(("position", "sheet_row", "series", *self.kind.place, *name)),
            *(
                pl.col(kept.name).round_sig_figs(9) if kept.frame == "number" else pl.col(kept.name)
                for kept in likeness(self.kind)
            ),
        )
        names = [kept.name for kept in likeness(self.kind)]
        shown = [column for column in ("series", *self.kind.place) if column not in name]
        kinds = alike.group_by(*name, *names, maintain_order=True).agg(
            "position", "sheet_row", pl.col(shown).first()
        )
        return pl.concat([_same(rows, kinds, self.kind), _different(rows, kinds, self.kind)])


def _numbered(kind: SheetKind) -> str:
    """The sheet column that tells rows of one place apart, which findings on repeats name."""
    exact, _ = _place(kind)
    return kind.sheet_name((*exact, *kind.place)[0])


def _same(rows: pl.DataFrame, kinds: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    several = kinds.select("position", "sheet_row").filter(pl.col("position").list.len() > 1)
    hits = [
        Hit(position, _numbered(kind), COUNTED_ONCE, {"first": str(lines[0])})
        for positions, lines in several.iter_rows()
        for position in positions[1:]
    ]
    return from_hits(rows, hits)


def _different(rows: pl.DataFrame, kinds: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    name, alike = _name(kind), likeness(kind)
    shown = [column for column in ("series", *kind.place) if column not in name]
    apart = (
        kinds.group_by(name, maintain_order=True)
        .agg(
            pl.len().alias("kinds"),
            pl.col("position").list.first(),
            pl.col("sheet_row").list.first(),
            pl.col(shown).first(),
            *(pl.col(kept.name).n_unique() for kept in alike),
        )
        .filter(pl.col("kinds") > 1)
    )
    hits: list[Hit] = []
    for one in apart.iter_rows(named=True):
        details = {
            "rows": named_rows(one["sheet_row"]).removeprefix("rows "),
            "series": one["series"],
            "place": _place_words(one, kind),
            "columns": listing([kind.sheet_name(kept.name) for kept in alike if one[kept.name] > 1]),
        }
        hits.extend(Hit(each, _numbered(kind), "repeat_differs", details) for each in one["position"])
    return from_hits(rows, hits)


def _place_words(row: Mapping[str, Any], kind: SheetKind) -> str:
    """Where in its series a row stands: `40 %, pot 1, pour 2`."""
    words = []
    for name in kind.place:
        value = row[name]
        text = figures_of(value) if isinstance(value, float) else str(value)
        share = kind.by_kept_name[name].kind == "share"
        words.append(f"{text} %" if share else f"{name.removesuffix('_no').replace('_', ' ')} {text}")
    return ", ".join(words)


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

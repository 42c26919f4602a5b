"""Which held rows still wait for somebody: a later sheet that mends a row clears it.

A held row is cleared by a later receipt (in order of `received`) when
- it has an accepted row of the same member, series and place (share, pot and pour) as the held row (a
  fraction stands for the percent that the receipt offered); what can't be read in the held row is not asked for,
  but a share that can't be read is not taken for straight base;
- or it holds the same row again (same member, series and place): then only the newer one waits;
- or it is a sheet of the same file name with a row of the same member and series: the sheet was sent again, and
  what waits now stands in the newer one. What can't be read in the held row is not asked for.
Withdrawn rows do not wait.
"""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from pipeline.load.truth.journal import Line
from pipeline.load.truth.records import Cutoff
from pipeline.load.views.status import known_lines, place_shares, ranked_receipts, with_decisions
from schemas.column import Column
from schemas.kinds.kind import SheetKind
from schemas.trade.labels import label_key
from schemas.trade.parts import percent_in
from schemas.trade.shares import same_share

FRACTION = r"^([0-9]+)\s*/\s*([0-9]+)$"
DAYS = ("%Y-%m-%d", "%d.%m.%Y")
"""How a day in a held cell is read."""
NUMBER = r"^([0-9]+(?:[.,][0-9]+)?)\s*%?$"


def waiting_rows(
    held: pl.DataFrame,
    runs: pl.DataFrame,
    receipts: pl.DataFrame,
    lines: Sequence[Line],
    cutoff: Cutoff,
    kind: SheetKind,
) -> pl.DataFrame:
    """receipt, submission, file, received, sheet_row, member, series, reasons (list), cells (JSON), message, waits:
    held rows of the cutoff's receipts of one kind that nothing known at the cutoff has cleared.

    held: the store's table. runs: key columns and rank of the accepted rows of that kind known at the cutoff. `waits` is false for
    dropped repeats, which are counted but need nobody."""
    rows = with_keys(held, kind).join(
        ranked_receipts(receipts)
        .filter(pl.col("kind") == kind.name)
        .select("receipt", "rank", "submission", "file", "received"),
        on="receipt",
        how="inner",
    )
    if cutoff.known_before is not None:
        rows = rows.filter(pl.col("receipt") < cutoff.known_before)
    known = rows
    if cutoff.received_until is not None:
        rows = rows.filter(pl.col("received") <= cutoff.received_until.replace(tzinfo=None))
        if cutoff.known_until is not None:
            known = known.filter(pl.col("received") <= cutoff.known_until.replace(tzinfo=None))
    rows = with_decisions(rows, receipts, known_lines(lines, cutoff)).filter(~pl.col("withdrawn"))
    rows = rows.with_row_index("place")
    cleared = pl.concat(
        [_cleared_by_key(rows, runs, known, kind), _cleared_by_name(rows, runs, known, receipts)]
    ).unique()
    return (
        rows.join(cleared, on="place", how="anti")
        .sort("rank", "sheet_row", nulls_last=False)
        .select(
            "receipt",
            "submission",
            "file",
            "received",
            "sheet_row",
            "member",
            "series",
            pl.col("reasons").str.json_decode(pl.List(pl.String)),
            "cells",
            "message",
            "waits",
        )
    )


def with_keys(held: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """The held rows of sheets of one kind with what can be read of their keys: those of `with_labels`, and the
    columns of their place; null where a cell can't be read."""
    places = [_read(kind.by_kept_name[name], kind).alias(name) for name in kind.place]
    return with_labels(held).with_columns(places)


def _cell(name: str) -> pl.Expr:
    """A held row's cell as typed."""
    return pl.col("cells").str.json_path_match(f"$.{name}").str.strip_chars()


def _read(column: Column, kind: SheetKind) -> pl.Expr:
    """The value of a held row's cell, by the type that an accepted row has."""
    cell = _cell(column.name)
    if column.kind == "share":
        parts = [_from_parts(_cell(one.name)) for one in kind.columns if one.kind == "parts"]
        return pl.coalesce(_percent(cell), *parts)
    frame = "text" if column.kept is None else column.kept.frame
    if frame == "date":
        return pl.coalesce(cell.str.to_date(form, strict=False) for form in DAYS)
    if frame in ("number", "whole"):
        number = cell.cast(pl.Float64, strict=False)
        return number.cast(pl.Int64, strict=False) if frame == "whole" else number
    return cell


def with_labels(held: pl.DataFrame) -> pl.DataFrame:
    """The held rows of any sheets with member, series (as typed), member_key and series_key; null where there are
    none."""
    rows = held.with_columns(_cell("member").alias("member"), _cell("series").alias("series"))
    for name in ("member", "series"):
        spelled = rows[name].drop_nulls().unique().to_list()
        keys = pl.DataFrame(
            {name: spelled, f"{name}_key": [label_key(text) for text in spelled]},
            schema={name: pl.String, f"{name}_key": pl.String},
        )
        rows = rows.join(keys, on=name, how="left")
    return rows


def _percent(cell: pl.Expr) -> pl.Expr:
    number = cell.str.extract(NUMBER, 1).str.replace(",", ".", literal=True).cast(pl.Float64, strict=False)
    above, below = (cell.str.extract(FRACTION, at).cast(pl.Float64, strict=False) for at in (1, 2))
    offered = pl.coalesce(number, pl.when((above > 0) & (above < below)).then(above / below))
    return pl.when((offered > 0) & (offered < 1)).then((100.0 * offered).round(1)).otherwise(offered)


def _from_parts(cell: pl.Expr) -> pl.Expr:
    return cell.map_elements(percent_in, return_dtype=pl.Float64).round(1)


def _cleared_by_key(
    rows: pl.DataFrame, runs: pl.DataFrame, known: pl.DataFrame, kind: SheetKind
) -> pl.DataFrame:
    shares = place_shares(kind)
    columns = [*kind.run_keys, "rank"]
    wanted = rows.drop_nulls("member_key").select("place", *columns)
    by_run = wanted.join(runs.select(columns), on="member_key", how="inner", suffix="_after").filter(
        (pl.col("rank_after") > pl.col("rank")), *(_agrees(name, name in shares) for name in columns[1:-1])
    )
    again = known.drop_nulls(columns).select(columns)
    by_held = wanted.join(again, on=["member_key", "series_key"], how="inner", suffix="_after").filter(
        (pl.col("rank_after") > pl.col("rank")), *(_agrees(name, name in shares) for name in columns[2:-1])
    )
    return pl.concat([by_run.select("place"), by_held.select("place")]).unique()


def _agrees(name: str, share: bool = False) -> pl.Expr:
    """The later row's value is the held row's, or the held row's can't be read."""
    after = pl.col(f"{name}_after")
    if share:
        same = same_share(after - pl.col(name))
        return same | (pl.col(name).is_null() & (after > 0))
    return (after == pl.col(name)) | pl.col(name).is_null()


def _cleared_by_name(
    rows: pl.DataFrame, runs: pl.DataFrame, known: pl.DataFrame, receipts: pl.DataFrame
) -> pl.DataFrame:
    names = receipts.select("receipt", pl.col("file").str.to_lowercase().alias("name")).drop_nulls()
    keys = ["receipt", "rank", "member_key", "series_key"]
    later = pl.concat([runs.select(keys), known.select(keys)]).unique().join(names, on="receipt")
    wanted = rows.join(names, on="receipt").select("place", "name", "rank", "member_key", "series_key")
    return (
        wanted.join(later, on="name", how="inner", suffix="_after")
        .filter(pl.col("rank_after") > pl.col("rank"), _agrees("member_key"), _agrees("series_key"))
        .select("place")
        .unique()
    )

"""Which held rows still wait for somebody: a later sheet that mends a row clears it.

A held row is cleared by a later receipt (in order of `received`) when
- it has an accepted row of the same member and series whose share, pot and pour are those of the held row (a
  fraction stands for the percent that the receipt offered); what can't be read in the held row is not asked for,
  but a share that can't be read is not taken for straight base;
- or it holds the same row again (same member, series, share, pot and pour): then only the newer one waits;
- or it is a sheet of the same file name with a row of the same member and series: the sheet was sent again, and
  what waits now stands in the newer one. What can't be read in the held row is not asked for.
Withdrawn rows do not wait.
"""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from pipeline.load.journal import Line
from pipeline.load.records import Cutoff
from pipeline.load.standing import known_lines, ranked_receipts, with_decisions
from schemas.trade.labels import label_key
from schemas.trade.shares import same_share

PARTS = r"^([0-9]+(?:[.,][0-9]+)?)\s*(?:[:+/]|to)\s*([0-9]+(?:[.,][0-9]+)?)$"
FRACTION = r"^([0-9]+)\s*/\s*([0-9]+)$"
NUMBER = r"^([0-9]+(?:[.,][0-9]+)?)\s*%?$"


def waiting_rows(
    held: pl.DataFrame,
    runs: pl.DataFrame,
    receipts: pl.DataFrame,
    lines: Sequence[Line],
    cutoff: Cutoff,
) -> pl.DataFrame:
    """receipt, submission, file, received, sheet_row, member, series, reasons (list), cells (JSON), message, waits:
    held rows of the cutoff's receipts that nothing known at the cutoff has cleared.

    held: the store's table. runs: key columns and rank of the runs known at the cutoff. `waits` is false for
    dropped repeats, which are counted but need nobody."""
    rows = with_keys(held).join(
        ranked_receipts(receipts).select("receipt", "rank", "submission", "file", "received"),
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
        [_cleared_by_key(rows, runs, known), _cleared_by_name(rows, runs, known, receipts)]
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


def with_keys(held: pl.DataFrame) -> pl.DataFrame:
    """The held rows with what can be read of their keys: member, series (as typed), member_key, series_key,
    component_share, pot_no, pour_no; null where a cell can't be read."""
    cells = {
        name: pl.col("cells").str.json_path_match(f"$.{name}").str.strip_chars()
        for name in ("member", "series", "component_share", "parts", "pot_no", "pour_no")
    }
    rows = held.with_columns(
        cells["member"].alias("member"),
        cells["series"].alias("series"),
        *(
            cells[name].cast(pl.Float64, strict=False).cast(pl.Int64, strict=False).alias(name)
            for name in ("pot_no", "pour_no")
        ),
        pl.coalesce(_percent(cells["component_share"]), _from_parts(cells["parts"])).alias("component_share"),
    )
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
    base, component = (
        cell.str.extract(PARTS, at).str.replace(",", ".", literal=True).cast(pl.Float64, strict=False)
        for at in (1, 2)
    )
    return pl.when(base + component > 0).then((100.0 * component / (base + component)).round(1))


def _cleared_by_key(rows: pl.DataFrame, runs: pl.DataFrame, known: pl.DataFrame) -> pl.DataFrame:
    columns = ["member_key", "series_key", "component_share", "pot_no", "pour_no", "rank"]
    wanted = rows.drop_nulls("member_key").select("place", *columns)
    by_run = wanted.join(runs.select(columns), on="member_key", how="inner", suffix="_after").filter(
        (pl.col("rank_after") > pl.col("rank")), *(_agrees(name) for name in columns[1:-1])
    )
    again = known.drop_nulls(columns).select(columns)
    by_held = wanted.join(again, on=["member_key", "series_key"], how="inner", suffix="_after").filter(
        (pl.col("rank_after") > pl.col("rank")), *(_agrees(name) for name in columns[2:-1])
    )
    return pl.concat([by_run.select("place"), by_held.select("place")]).unique()


def _agrees(name: str) -> pl.Expr:
    """The later row's value is the held row's, or the held row's can't be read."""
    after = pl.col(f"{name}_after")
    if name == "component_share":
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

"""Which runs are in force: a pure answer from runs, receipts and journal, for any cutoff.

The reading of the contract, in full:

- *Order.* Receipts are ordered by their `received` moment, ties by their journal line.
- *Mending.* A run is replaced by a later receipt's accepted run of the same member, series and place (pot and pour, and
  a share within 0.5 point; a sheet of another kind has its own place). A receipt loaded with `--whole-series` replaces every earlier run of each series in
  which it has an accepted row. Being replaced is final: withdrawing the newer sheet does not bring the older one
  back (its errors were the reason for the newer); loading the older sheet again does.
- *Withdrawing, restoring, setting aside, keeping* apply to what stands in the journal before them, never to
  sheets received afterwards. The last such line that touches a run decides.
- *Waiting.* A run that lies far from its own series by an exact slip waits, and so does a series that equals an earlier
  one, until a line known at the cutoff keeps it, sets it aside or withdraws it, or a later sheet mends it. It is worked
  out from the runs in force at that cutoff (`runs_that_wait`): the same cutoff, the same runs.
- *Edition 1* of a month: receipts received up to its last second; the journal's other lines up to that second.
- *Later editions*: those same receipts, with what is known at the edition's own line. Of receipts that came
  after the month, only the mendings count: a run that replaces one of the month's (or replaces such a successor), and
  every run of a `--whole-series` sheet in a series that the month holds. Runs that such sheets add are not the month's.
- *An open month*: everything.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

from pipeline.load.truth.journal import Line
from pipeline.load.truth.records import Cutoff
from schemas.kinds.kind import SheetKind
from schemas.trade.labels import label_key
from schemas.trade.shares import same_share

SERIES = ["member_key", "series_key"]
"""The keys that every kind of sheet has."""
FLAGS_SET: Mapping[str, Mapping[str, bool]] = {
    "withdrawn": {"withdrawn": True},
    "restored": {"withdrawn": False},
    "set_aside": {"aside": True, "kept": False},
    "kept": {"aside": False, "kept": True},
}
"""What each decision in the journal says of the rows that it touches."""


def key_columns(kind: SheetKind) -> list[str]:
    """The columns of an accepted row that decide its status."""
    return ["receipt", *kind.run_keys, "sheet_row"]


def place_shares(kind: SheetKind) -> list[str]:
    """Those columns of a row's place that hold a share, which is the same within half a point."""
    return [name for name in kind.place if kind.by_kept_name[name].kind == "share"]


def exact_keys(kind: SheetKind) -> list[str]:
    """Those keys of a row that are the same only where they are equal."""
    return [name for name in kind.run_keys if name not in place_shares(kind)]


def shares_agree(kind: SheetKind, other: str) -> pl.Expr:
    """Whether the shares of a row's place are those of the columns with the ending `other`; true without any."""
    same = pl.lit(True)
    for name in place_shares(kind):
        same = same & same_share(pl.col(f"{name}{other}") - pl.col(name))
    return same


def with_status(
    runs: pl.DataFrame, receipts: pl.DataFrame, lines: Sequence[Line], cutoff: Cutoff, kind: SheetKind
) -> pl.DataFrame:
    """The runs (accepted rows of one kind of sheet) that belong to the cutoff, each with its `status`: "in force", "replaced", "withdrawn" or
    "set aside", its `rank` (order of its receipt), and `kept`: somebody looked at it and kept it. Which of those in force
    wait is asked afterwards (`runs_that_wait`).

    runs: `key_columns`, and any others, which pass through. receipts: receipt, submission, received, whole_series.
    """
    ranked = ranked_receipts(receipts)
    runs = runs.join(ranked.select("receipt", "rank", "received", "whole_series"), on="receipt", how="inner")
    included = _included(runs, cutoff, kind)
    included = included.join(gone_at(included, kind), on=["receipt", "sheet_row"], how="left")
    marked = with_decisions(included, receipts, known_lines(lines, cutoff))
    return marked.with_columns(
        pl.when(pl.col("gone_rank").is_not_null())
        .then(pl.lit("replaced"))
        .when(pl.col("withdrawn"))
        .then(pl.lit("withdrawn"))
        .when(pl.col("aside"))
        .then(pl.lit("set aside"))
        .otherwise(pl.lit("in force"))
        .alias("status")
    ).drop("gone_rank", "withdrawn", "aside", "received", "whole_series")


def ranked_receipts(receipts: pl.DataFrame) -> pl.DataFrame:
    """Receipts in their order (received, then journal line), with `rank` from 0."""
    return (
        receipts.sort("received", "receipt")
        .with_row_index("rank")
        .with_columns(pl.col("rank").cast(pl.Int64))
    )


def known_lines(lines: Sequence[Line], cutoff: Cutoff) -> list[Line]:
    """The journal lines that are known at a cutoff."""
    return [
        line
        for line in lines
        if (cutoff.known_before is None or line.n < cutoff.known_before)
        and (cutoff.known_until is None or line.at <= cutoff.known_until)
    ]


def _included(runs: pl.DataFrame, cutoff: Cutoff, kind: SheetKind) -> pl.DataFrame:
    """Runs of the cutoff's own receipts, and of later ones those that mend them."""
    if cutoff.known_before is not None:
        runs = runs.filter(pl.col("receipt") < cutoff.known_before)
    if cutoff.received_until is None:
        return runs
    own = pl.col("received") <= cutoff.received_until.replace(tzinfo=None)
    included, later = runs.filter(own), runs.filter(~own)
    if cutoff.known_until is not None:
        later = later.filter(pl.col("received") <= cutoff.known_until.replace(tzinfo=None))
    later = later.join(included.select(SERIES).unique(), on=SERIES, how="semi")
    while later.height:
        joining = _mending(later, included, kind)
        if not joining.height:
            break
        included = pl.concat([included, joining])
        later = later.join(joining, on=["receipt", "sheet_row"], how="anti")
    return included


def _mending(later: pl.DataFrame, included: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """Those of the `later` runs that replace an included one, or belong to a whole-series sheet of its series."""
    pairs = _pairs(included, later, kind)
    by_key = later.join(
        pairs.select("receipt_after", "sheet_row_after").unique(),
        left_on=["receipt", "sheet_row"],
        right_on=["receipt_after", "sheet_row_after"],
        how="semi",
    )
    first = included.group_by(SERIES).agg(pl.col("rank").min().alias("first_rank"))
    whole = (
        later.filter("whole_series")
        .join(first, on=SERIES, how="inner")
        .filter(pl.col("first_rank") < pl.col("rank"))
        .select(later.columns)
    )
    return pl.concat([by_key, whole]).unique(["receipt", "sheet_row"], keep="any")


def _pairs(before: pl.DataFrame, after: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """Every (earlier run, later run) in which the later replaces the earlier by its key."""
    columns = [*kind.run_keys, "receipt", "sheet_row", "rank"]
    return (
        before.select(columns)
        .join(after.select(columns), on=exact_keys(kind), how="inner", suffix="_after")
        .filter((pl.col("rank_after") > pl.col("rank")) & shares_agree(kind, "_after"))
    )


def gone_at(runs: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """receipt, sheet_row and `gone_rank` (rank of the first receipt that replaced it) of the replaced runs."""
    several = (
        runs.group_by(SERIES).agg(pl.col("rank").n_unique().alias("sheets")).filter(pl.col("sheets") > 1)
    )
    touched = runs.join(several.select(SERIES), on=SERIES, how="semi")
    by_key = _pairs(touched, touched, kind).select(
        "receipt", "sheet_row", pl.col("rank_after").alias("gone_rank")
    )
    wholes = touched.filter("whole_series").select(*SERIES, pl.col("rank").alias("gone_rank")).unique()
    by_whole = (
        touched.join(wholes, on=SERIES, how="inner")
        .filter(pl.col("gone_rank") > pl.col("rank"))
        .select("receipt", "sheet_row", "gone_rank")
    )
    return pl.concat([by_key, by_whole]).group_by("receipt", "sheet_row").agg(pl.col("gone_rank").min())


def with_decisions(rows: pl.DataFrame, receipts: pl.DataFrame, lines: Sequence[Line]) -> pl.DataFrame:
    """The rows with three flags more: `withdrawn`, `aside` and `kept`, as the last line that touches each decides.
    rows: receipt, member_key, series_key, sheet_row."""
    rows = rows.with_columns(pl.lit(False).alias(flag) for flag in ("withdrawn", "aside", "kept"))
    for line in lines:
        if line.event not in FLAGS_SET:
            continue
        touched = touches(line.payload, line.private, receipts) & (pl.col("receipt") < line.n)
        rows = rows.with_columns(
            pl.when(touched).then(value).otherwise(flag).alias(flag)
            for flag, value in FLAGS_SET[line.event].items()
        )
    return rows


def touches(payload: Mapping[str, Any], private: Mapping[str, Any] | None, receipts: pl.DataFrame) -> pl.Expr:
    """Whether a row belongs to the selection written in a journal line; nothing once the line is erased."""
    if payload["scope"] in ("submission", "row"):
        numbers = receipts.filter(pl.col("submission") == payload["submission"])["receipt"].to_list()
        chosen = pl.col("receipt").is_in(numbers)
        if payload["scope"] == "row":
            chosen = chosen & pl.col("sheet_row").eq(int(payload["sheet_row"])).fill_null(False)
        return chosen
    if private is None:
        return pl.lit(False)
    chosen = pl.col("member_key").eq(label_key(private["member_key"])).fill_null(False)
    if payload["scope"] == "series":
        chosen = chosen & pl.col("series_key").eq(label_key(private["series_key"])).fill_null(False)
    return chosen

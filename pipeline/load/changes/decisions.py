"""Withdrawing, restoring, setting aside, keeping, asking: one journal line each, by member, series, sheet or row."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import polars as pl

from pipeline.errors import DrainpoolError, WrongUseError
from pipeline.load.database import store
from pipeline.load.database.writer import Writer, commit
from pipeline.load.truth.journal import Change
from pipeline.load.truth.records import EVERYTHING, Selection, Taken
from pipeline.load.views.reading import receipts_frame, touching
from pipeline.load.views.status import SERIES, touches, with_status
from pipeline.load.views.waiting import with_labels
from schemas.kinds.registry import KINDS
from schemas.store import rows_table
from schemas.trade.labels import label_key
from schemas.trade.public_reasons import OTHER

SHORTEST_HASH = 8
STANDS = ("in force", "set aside")
CHANGES = {
    "withdrawn": STANDS,
    "restored": ("withdrawn",),
    "set_aside": ("in force",),
    "kept": STANDS,
    "asked": STANDS,
}
"""Decision -> the statuses of the runs that it is about; runs that a later sheet replaced are never counted."""


def withdraw(writer: Writer, selection: Selection, reason: str) -> Taken:
    """Takes the selected runs out of later months; they stay in the store. Sheets received afterwards are not
    touched. Raises DrainpoolError where nothing in the pool belongs to the selection."""
    return decide(writer, "withdrawn", selection, reason)


def restore(writer: Writer, selection: Selection, reason: str) -> Taken:
    """Brings withdrawn runs back into later months; runs that a later sheet replaced stay replaced."""
    return decide(writer, "restored", selection, reason)


def set_aside(writer: Writer, selection: Selection, reason: str, why: str = OTHER) -> Taken:
    """Leaves the selected runs out of later months by the coordinator's decision, until they are kept. `why`: one of
    PUBLIC_REASONS, all that pages say of it; the reason typed stays private."""
    return decide(writer, "set_aside", selection, reason, {"why": why})


def keep(writer: Writer, selection: Selection, reason: str) -> Taken:
    """Writes down that the selected runs were looked at and stay in; undoes `set_aside`."""
    return decide(writer, "kept", selection, reason)


def ask(writer: Writer, selection: Selection, reason: str) -> Taken:
    """Writes down that the member was asked about the selected runs; changes no month."""
    return decide(writer, "asked", selection, reason)


def decide(
    writer: Writer, event: str, selection: Selection, reason: str, public: Mapping[str, str] | None = None
) -> Taken:
    """Writes one decision down, with what is `public` of it; counts the runs that it changes (or, asking and keeping, is
    about)."""
    if not reason.strip():
        raise WrongUseError("Say why, with --reason TEXT. Nothing was changed.")
    payload, private = _written(writer, selection)
    rows = _touched(writer, payload, private)
    if rows.is_empty():
        raise DrainpoolError(f"The pool holds nothing of {_words(selection)}. Nothing was changed.")
    changed = _changed(writer, rows.filter("accepted"), CHANGES[event])
    line = commit(
        writer, [Change(event, {**payload, **(public or {})}, {**private, "reason": reason.strip()})]
    )[0]
    return Taken(
        line=line.n,
        runs=changed.height,
        series=changed.select(SERIES).n_unique(),
        receipts=rows["receipt"].n_unique(),
    )


def _written(writer: Writer, selection: Selection) -> tuple[dict[str, Any], dict[str, Any]]:
    """A selection as the journal holds it: scope and hash for everyone, codes in the part that can be erased."""
    if selection.submission is not None:
        submission = _whole_hash(writer, selection.submission)
        if selection.sheet_row is not None:
            return {"scope": "row", "submission": submission, "sheet_row": selection.sheet_row}, {}
        return {"scope": "submission", "submission": submission}, {}
    if selection.member is None:
        raise WrongUseError("Name a member or a submission. Nothing was changed.")
    private = {"member": selection.member, "member_key": label_key(selection.member)}
    if selection.series is None:
        return {"scope": "member"}, private
    return {"scope": "series"}, {
        **private,
        "series": selection.series,
        "series_key": label_key(selection.series),
    }


def _whole_hash(writer: Writer, typed: str) -> str:
    wanted = typed.strip().lower()
    if len(wanted) < SHORTEST_HASH:
        raise WrongUseError(
            f"“{typed}” is too short for a submission; give its first {SHORTEST_HASH} characters or more."
        )
    found = sorted(
        {
            line.payload["submission"]
            for line in writer.lines
            if line.event == "received" and line.payload["submission"].startswith(wanted)
        }
    )
    if len(found) == 1:
        return str(found[0])
    several = f"belongs to {len(found)} submissions" if found else "is no submission in this pool"
    raise DrainpoolError(f"“{typed}” {several}. Nothing was changed. A receipt shows its submission in full.")


def _touched(writer: Writer, payload: dict[str, Any], private: dict[str, Any]) -> pl.DataFrame:
    """Accepted and held rows, and receipts without rows, that the selection covers."""
    receipts = receipts_frame(writer.connection)
    columns = ["receipt", "member_key", "series_key", "sheet_row"]
    accepted = [
        store.frame(writer.connection, f"SELECT {', '.join(columns)} FROM {rows_table(kind)}")  # noqa: S608 our own names
        for kind in KINDS.values()
    ]
    held = with_labels(store.frame(writer.connection, "SELECT * FROM held")).select(columns)
    rows = pl.concat(
        [
            pl.concat(accepted).with_columns(pl.lit(True).alias("accepted")),
            held.with_columns(pl.lit(False).alias("accepted")),
        ]
    )
    return rows.filter(touches(payload, private, receipts))


def _changed(writer: Writer, rows: pl.DataFrame, statuses: tuple[str, ...]) -> pl.DataFrame:
    """Those of the accepted rows that have one of the statuses now."""
    series, receipts = rows.select(SERIES).unique(), receipts_frame(writer.connection)
    now = pl.concat(
        with_status(
            touching(writer.connection, series, kind), receipts, writer.lines, EVERYTHING, kind
        ).select("receipt", *SERIES, "sheet_row", "status")
        for kind in KINDS.values()
    )
    return now.filter(pl.col("status").is_in(statuses)).join(rows, on=["receipt", "sheet_row"], how="semi")


def _words(selection: Selection) -> str:
    if selection.submission is not None:
        row = "" if selection.sheet_row is None else f", row {selection.sheet_row}"
        return f"submission {selection.submission}{row}"
    series = "" if selection.series is None else f", series {selection.series}"
    return f"member {selection.member}{series}"

"""Erasing a member: bytes, rows, names. What stays are hashes, counts and the fact, without the code.

The order keeps a crash harmless: the others' rows of shared sheets are laid beside the archive; one journal
line and the store's transaction make the erasure happen; then bytes go and the journal's private parts are
blanked. Until that is finished the line holds the member's key, and the next opening for writing finishes.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from operator import itemgetter
from typing import Any

import polars as pl

from pipeline.errors import DrainpoolError, WrongUseError
from pipeline.load.database import kept_rows, store, version_0_1_0
from pipeline.load.database.rows import row_hashes
from pipeline.load.database.writer import Writer, commit
from pipeline.load.truth import archive, journal
from pipeline.load.truth.journal import Change, Line
from pipeline.load.truth.receipts import ROW_HASH, receipts_in
from pipeline.load.views.waiting import with_labels
from schemas.kinds.kind import SheetKind
from schemas.kinds.registry import KINDS, kind_named
from schemas.kinds.run import RUN
from schemas.store import rows_table
from schemas.trade.labels import label_key, mentions, without_mentions

BLANKED = "[erased]"


@dataclass(frozen=True)
class Erased:
    """What an erasure took: whole sheets, sheets shared with other members (whose rows stay), runs and held
    rows, and the finished months that held some of it (their promise of the same bytes ends). `receipts` are the
    numbers of all these sheets' receipts. `naming`: files of the pool that still name the member, for whoever looks."""

    line: int
    sheets: int
    shared_sheets: int
    runs: int
    held: int
    months: tuple[str, ...]
    receipts: tuple[int, ...]
    naming: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Sheet:
    """One receipt that names the member: what goes of it, and what stays. `runs`: accepted rows of its kind."""

    line: Line
    kind: SheetKind
    runs: pl.DataFrame
    held: pl.DataFrame
    runs_gone: int
    held_gone: int

    @property
    def whole(self) -> bool:
        return self.runs.is_empty() and self.held.is_empty()


def erase(writer: Writer, member: str, reason: str) -> Erased:
    """Erases everything of a member from archive, journal and store. Reports and receipts of finished months are
    the caller's to clear. Raises DrainpoolError where the pool holds nothing of that member."""
    if not reason.strip():
        raise WrongUseError("Say why, with --reason TEXT. Nothing was changed.")
    key = label_key(member)
    sheets = _sheets_of(writer, key)
    touched = [line.n for line in writer.lines if _names(line, key)]
    if not sheets and not touched:
        raise DrainpoolError(f"The pool holds nothing of member {member}. Nothing was changed.")
    whole = {sheet.line.n for sheet in sheets if sheet.whole}
    kept = {str(sheet.line.n): _kept(sheet) for sheet in sheets}
    rows_files = _rows_left(writer, sheets)
    line = commit(
        writer,
        [
            Change(
                "erased",
                {
                    "receipts": kept,
                    "rows_files": rows_files,
                    "lines": sorted({*touched, *whole}),
                    "reason": without_code(reason.strip(), key),
                },
                {"member_key": key},
            )
        ],
        lambda connection, lines: _erase_rows(connection, sheets),
    )[0]
    finish(writer)
    return Erased(
        line=line.n,
        sheets=len(whole),
        shared_sheets=len(sheets) - len(whole),
        runs=sum(sheet.runs_gone for sheet in sheets),
        held=sum(sheet.held_gone for sheet in sheets),
        months=_months(writer.lines, sheets),
        receipts=tuple(sheet.line.n for sheet in sheets),
    )


def receipts_of(writer: Writer, member: str) -> tuple[int, ...]:
    """Numbers of the receipts that `erase` would touch."""
    return tuple(sheet.line.n for sheet in _sheets_of(writer, label_key(member)))


def speaks_of(writer: Writer, member: str) -> bool:
    """Whether the private part of any journal line mentions the member."""
    return any(_names(line, label_key(member)) for line in writer.lines)


def without_code(text: str, key: str) -> str:
    """The text with every mention of a member's code blanked."""
    return without_mentions(text, key, BLANKED)


def _names(line: Line, key: str) -> bool:
    """Whether the private part of a line mentions the member."""
    if line.private is None:
        return False
    words = [str(value) for name, value in line.private.items() if name != "salt"]
    return any(mentions(word, key) for word in words)


def _sheets_of(writer: Writer, key: str) -> list[_Sheet]:
    """Every receipt with a row of the member, or that shows no member at all while its name mentions this one."""
    accepted = {
        name: store.frame(writer.connection, f"SELECT * FROM {rows_table(kind)}")  # noqa: S608 our own names
        for name, kind in KINDS.items()
    }
    held = store.frame(writer.connection, "SELECT * FROM held")
    keyed = with_labels(held).select("receipt", "sheet_row", "member_key")
    named = pl.concat(
        [
            *(rows.select("receipt", "member_key") for rows in accepted.values()),
            keyed.select("receipt", "member_key"),
        ]
    )
    mine = set(named.filter(pl.col("member_key") == key)["receipt"].to_list())
    somebody = set(named.drop_nulls()["receipt"].to_list())
    theirs = keyed.filter(pl.col("member_key").is_not_null() & (pl.col("member_key") != key))
    receipts = receipts_in(writer.lines)
    sheets = []
    for line in writer.lines:
        if line.event != "received" or not (line.n in mine or (line.n not in somebody and _names(line, key))):
            continue
        kind = kind_named(receipts[line.n].kind)
        all_runs, all_held = (
            accepted[kind.name].filter(pl.col("receipt") == line.n),
            held.filter(pl.col("receipt") == line.n),
        )
        runs_stay = all_runs.filter(pl.col("member_key") != key).sort("sheet_row")
        held_stay = all_held.join(theirs, on=["receipt", "sheet_row"], how="semi").sort("sheet_row")
        sheets.append(
            _Sheet(
                line,
                kind,
                runs_stay,
                held_stay,
                all_runs.height - runs_stay.height,
                all_held.height - held_stay.height,
            )
        )
    return sheets


def _rows_left(writer: Writer, sheets: Sequence[_Sheet]) -> dict[str, str | None]:
    """Lays every file that holds rows of the sheets anew without the member's: hash before -> hash after, None where
    no row is left."""
    receipts = receipts_in(writer.lines)
    stay = {
        sheet.line.n: ({*sheet.runs["sheet_row"]}, sheet.held.select("sheet_row").to_series().to_list())
        for sheet in sheets
    }
    rows_files: dict[str, str | None] = {}
    kinds = {kept: sheet.kind for sheet in sheets if (kept := receipts[sheet.line.n].rows_kept) is not None}
    for digest, kind in sorted(kinds.items(), key=itemgetter(0)):
        runs, held = (
            pl.concat([rows.filter(~pl.col("receipt").is_in(list(stay))), *_staying(rows, stay, part)]).sort(
                "receipt", "sheet_row"
            )
            for part, rows in enumerate(kept_rows.recall(writer.pool, digest, kind))
        )
        content = kept_rows.as_bytes(runs, held)
        rows_files[digest] = None if content is None else archive.submission_of(content)
        if content is not None:
            archive.put(writer.pool, [(content, kept_rows.ENDING)])
    return rows_files


def _staying(
    rows: pl.DataFrame, stay: Mapping[int, Sequence[Collection[int]]], part: int
) -> list[pl.DataFrame]:
    return [
        rows.filter((pl.col("receipt") == number) & pl.col("sheet_row").is_in(list(places[part])))
        for number, places in stay.items()
    ]


def _kept(sheet: _Sheet) -> dict[str, Any]:
    number = sheet.line.n
    return {
        "received": sheet.line.payload["received"],
        "erased_runs": sheet.runs_gone,
        "erased_held": sheet.held_gone,
        "rows": sheet.runs.height + sheet.held.height,
        "accepted": sheet.runs.height,
        "held": sheet.held.height,
        "row_hash": ROW_HASH,
        **row_hashes(sheet.runs, sheet.held, [number])[number],
    }


def _erase_rows(connection: store.Connection, sheets: Sequence[_Sheet]) -> None:
    for sheet in sheets:
        number = sheet.line.n
        table = rows_table(sheet.kind)
        for name in (table, "held"):
            connection.execute(f"DELETE FROM {name} WHERE receipt = ?", [number])  # noqa: S608 our own names
        store.insert(connection, table, sheet.runs)
        store.insert(connection, "held", sheet.held)
        connection.execute(
            "UPDATE receipts SET rows = ?, accepted = ?, held = ? WHERE receipt = ?",
            [sheet.runs.height + sheet.held.height, sheet.runs.height, sheet.held.height, number],
        )


def unfinished(lines: Sequence[Line]) -> bool:
    """Whether an erasure has happened whose bytes and names are still to go."""
    return any(line.event == "erased" and line.private is not None for line in lines)


def finish(writer: Writer) -> None:
    """Carries out what is left of every erasure in the journal: bytes, private parts, the store's old pages."""
    erasures = [line for line in writer.lines if line.event == "erased"]
    numbers = {int(number) for line in erasures for number in line.payload["receipts"]}
    blank = {n for line in erasures for n in line.payload["lines"]} | {line.n for line in erasures}
    gone = [line for line in writer.lines if line.n in numbers]
    writer.final = True
    receipts = receipts_in(writer.lines)
    archive.remove(
        archive.place(writer.pool, line.payload["submission"], line.payload["ending"]) for line in gone
    )
    archive.remove(version_0_1_0.remains_place(writer.pool, receipts[line.n]) for line in gone)
    named = {receipt.rows_kept for receipt in receipts.values()}
    before = {digest for line in erasures for digest in line.payload.get("rows_files", {})}
    archive.remove(kept_rows.place(writer.pool, digest) for digest in before - named)
    writer.connection.begin()
    for n in sorted(blank):
        writer.connection.execute("UPDATE journal SET private = NULL WHERE n = ?", [n])
        writer.connection.execute("UPDATE receipts SET file = NULL WHERE receipt = ?", [n])
    writer.connection.commit()
    writer.connection.execute("CHECKPOINT")
    writer.republish = True
    writer.connection.close()
    try:
        store.compact(writer.pool)
    finally:
        writer.connection = store.connect(writer.pool / store.STORE)
    # last of all: the journal's blank is what says that the erasure is finished
    writer.lines[:] = [replace(line, private=None) if line.n in blank else line for line in writer.lines]
    journal.rewrite(writer.pool, writer.lines)


def _months(lines: Sequence[Line], sheets: Sequence[_Sheet]) -> tuple[str, ...]:
    """Finished months that covered one of the erased sheets."""
    received = [
        sheet.line.payload["received"] for sheet in sheets if sheet.runs_gone and sheet.kind.name == RUN.name
    ]
    months = {line.payload["month"] for line in lines if line.event == "edition"}
    return tuple(sorted(month for month in months if any(moment[:7] <= month for moment in received)))

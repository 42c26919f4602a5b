"""Receiving checked files: which are new, what they mend, and their one journal line each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

import polars as pl

from pipeline.load.changes import editions
from pipeline.load.database import kept_rows, store
from pipeline.load.database.rows import accepted_to_store, held_to_store, receipt_rows, row_hashes
from pipeline.load.database.writer import Fill, Writer, commit
from pipeline.load.truth import archive
from pipeline.load.truth.journal import Change, Line, journal_length
from pipeline.load.truth.moments import closed_words, whole_seconds
from pipeline.load.truth.receipts import ROW_HASH, receipts_in
from pipeline.load.truth.records import Arrival, CheckedSheets, Outcome
from pipeline.load.views.mending import mending_counts, mending_sentence
from pipeline.load.views.reading import receipts_frame, receipts_in_force, touching
from pipeline.load.views.status import SERIES, key_columns
from schemas.kinds.kind import SheetKind
from schemas.kinds.registry import KINDS
from schemas.store import rows_table
from schemas.trade.moments import moment_text


@dataclass(frozen=True)
class _New:
    """An arrival that will become a receipt."""

    arrival: Arrival
    submission: str
    receipt: int
    received: datetime
    facts: Mapping[str, Any]


def receive(writer: Writer, arrivals: Sequence[Arrival], checked: CheckedSheets) -> list[Outcome]:
    """Receives a batch of checked files, all in one transaction; an Outcome for each arrival, in order.

    Identical bytes of a receipt in force change nothing, unless own headings are mapped anew (`already_loaded`, with the first load's counts).
    An arrival whose moment a report already covers is refused (`refused` says why, with the first free
    date); the others are still received. Raises OSError where there is no room; then nothing was received.
    """
    outcomes: dict[int, Outcome] = {}
    facts = {row["file_id"]: row for row in checked.files.iter_rows(named=True)}
    hashes = [archive.submission_of(arrival.content) for arrival in arrivals]
    there = receipts_in_force(writer.connection, writer.lines, sorted(set(hashes)))
    closed = editions.closed_until_in(writer.lines)
    new: list[_New] = []
    arriving: dict[str, int] = {}
    for position, (arrival, submission) in enumerate(zip(arrivals, hashes, strict=True)):
        fact = facts[arrival.file_id]
        received = whole_seconds(arrival.received) if arrival.received else writer.present()
        if submission in there and not _headings_mapped_anew(writer, arrival, there[submission]["receipt"]):
            outcomes[position] = _already(arrival, there[submission])
        elif submission in arriving:
            outcomes[position] = replace(
                outcomes[arriving[submission]],
                file_id=arrival.file_id,
                name=arrival.name,
                already_loaded=True,
            )
        elif (why := closed_words(received, closed)) is not None:
            outcomes[position] = _refused(arrival, submission, fact, why)
        else:
            receipt = writer.next_line() + len(new)
            new.append(_New(arrival, submission, receipt, received, fact))
            arriving[submission] = position
            outcomes[position] = _outcome(new[-1])
    if new:
        notes = _receive_new(writer, new, checked)
        for position, outcome in outcomes.items():
            if outcome.receipt in notes and not outcome.already_loaded:
                outcomes[position] = replace(outcome, notes=notes[outcome.receipt])
    return [outcomes[position] for position in range(len(arrivals))]


@dataclass(frozen=True)
class _OfKind:
    """The new receipts of one kind of sheet: their rows, the file that keeps these as they were read, its hash, and
    what each receipt mends."""

    kind: SheetKind
    accepted: pl.DataFrame
    held: pl.DataFrame
    hashes: Mapping[int, Mapping[str, str]]
    file: bytes | None
    file_hash: str | None
    mending: Mapping[int, Mapping[str, Any]]

    def journalled(self, receipt: int) -> dict[str, Any]:
        """What the journal says of the rows of one receipt."""
        with_rows = receipt in self.accepted["receipt"] or receipt in self.held["receipt"]
        return {
            **self.hashes[receipt],
            "rows_kept": self.file_hash if with_rows else None,
            "mending": _numbers(self.mending.get(receipt)),
        }


def _of_kind(writer: Writer, kind: SheetKind, new: Sequence[_New], checked: CheckedSheets) -> _OfKind:
    numbers = {one.arrival.file_id: one.receipt for one in new}
    accepted, held = accepted_to_store(checked, numbers, kind), held_to_store(checked, numbers)
    file = kept_rows.as_bytes(accepted, held)
    return _OfKind(
        kind,
        accepted,
        held,
        row_hashes(accepted, held, list(numbers.values())),
        file,
        None if file is None else archive.submission_of(file),
        _mending(writer, accepted, new, kind),
    )


def _receive_new(writer: Writer, new: Sequence[_New], checked: CheckedSheets) -> dict[int, tuple[str, ...]]:
    """Archives, inserts and writes down the new receipts; answers their notes."""
    arrived = {
        name: _of_kind(writer, kind, [one for one in new if one.facts["kind"] == name], checked)
        for name, kind in KINDS.items()
        if any(one.facts["kind"] == name for one in new)
    }
    settings = next(line for line in reversed(writer.lines) if line.event == "settings")
    shared = {
        "checked_on": moment_text(writer.present())[:10],
        "settings": settings.payload["fingerprint"],
        "row_hash": ROW_HASH,
    }
    notes = {one.receipt: _notes(one, arrived[one.facts["kind"]].mending.get(one.receipt)) for one in new}
    changes = [
        _change(one, {**shared, **arrived[one.facts["kind"]].journalled(one.receipt)}, notes[one.receipt])
        for one in new
    ]

    def fill(connection: store.Connection, lines: Sequence[Line]) -> None:
        store.insert(connection, "receipts", receipt_rows(receipts_in(lines).values()))
        for rows in arrived.values():
            store.insert(connection, rows_table(rows.kind), rows.accepted)
            store.insert(connection, "held", rows.held)

    files = [(one.arrival.content, archive.ending_of(one.arrival.content)) for one in new]
    files += [(rows.file, kept_rows.ENDING) for rows in arrived.values() if rows.file is not None]
    _lay_and_commit(writer, files, changes, fill)
    return notes


def _lay_and_commit(
    writer: Writer, files: Sequence[tuple[bytes, str]], changes: Sequence[Change], fill: Fill
) -> None:
    """Archives the files, then makes the changes happen; where they can't, the files are taken away again."""
    length = journal_length(writer.pool)
    laid = archive.put(writer.pool, files)
    try:
        commit(writer, changes, fill)
    except Exception:
        if journal_length(writer.pool) == length:
            archive.remove(laid)
        raise
    writer.laid += laid


def _change(one: _New, more: Mapping[str, Any], notes: Sequence[str]) -> Change:
    return Change(
        "received",
        {
            "kind": one.facts["kind"],
            "submission": one.submission,
            "ending": archive.ending_of(one.arrival.content),
            "bytes": len(one.arrival.content),
            "received": moment_text(one.received),
            "whole_series": one.arrival.whole_series,
            **{name: one.facts[name] for name in ("rows", "accepted", "held", "readable")},
            **more,
        },
        {
            "file": one.arrival.name,
            **({"columns": dict(one.arrival.columns)} if one.arrival.columns else {}),
            **({"notes": list(notes)} if notes else {}),
        },
    )


def _mending(
    writer: Writer, rows: pl.DataFrame, new: Sequence[_New], kind: SheetKind
) -> dict[int, dict[str, Any]]:
    slim = rows.select(key_columns(kind))
    earlier = touching(writer.connection, slim.select(SERIES).unique(), kind)
    if earlier.is_empty() and slim.select(*SERIES, "receipt").n_unique() == slim.select(SERIES).n_unique():
        return {}
    arriving = pl.DataFrame(
        [
            (one.receipt, one.submission, one.received.replace(tzinfo=None), one.arrival.whole_series)
            for one in new
        ],
        schema={
            "receipt": pl.Int64,
            "submission": pl.String,
            "received": pl.Datetime("us"),
            "whole_series": pl.Boolean,
        },
        orient="row",
    )
    receipts = pl.concat([receipts_frame(writer.connection).select(arriving.columns), arriving])
    counts = mending_counts(
        pl.concat([earlier, slim]), receipts, writer.lines, [one.receipt for one in new], kind
    )
    return {row["receipt"]: row for row in counts.iter_rows(named=True)}


def _numbers(counts: Mapping[str, Any] | None) -> dict[str, int] | None:
    if counts is None or not counts["dates"]:
        return None
    return {name: counts[name] for name in ("mended", "added", "kept", "gone")}


def _notes(one: _New, counts: Mapping[str, Any] | None) -> tuple[str, ...]:
    notes = [one.arrival.note] if one.arrival.note else []
    if counts is not None:
        notes.append(mending_sentence(counts, one.arrival.whole_series))
    return tuple(notes)


def _outcome(one: _New) -> Outcome:
    fact = one.facts
    return Outcome(
        file_id=one.arrival.file_id,
        name=one.arrival.name,
        submission=one.submission,
        receipt=one.receipt,
        received=one.received,
        already_loaded=False,
        readable=bool(fact["readable"]),
        rows=int(fact["rows"]),
        accepted=int(fact["accepted"]),
        held=int(fact["held"]),
    )


def _headings_mapped_anew(writer: Writer, arrival: Arrival, receipt: int) -> bool:
    """Whether own headings are now said to stand for other columns than when that receipt was made: then the same
    bytes say something else."""
    return bool(arrival.columns) and dict(arrival.columns) != dict(receipts_in(writer.lines)[receipt].columns)


def _already(arrival: Arrival, row: Mapping[str, Any]) -> Outcome:
    return Outcome(
        file_id=arrival.file_id,
        name=arrival.name,
        submission=row["submission"],
        receipt=row["receipt"],
        received=row["received"].replace(tzinfo=UTC),
        already_loaded=True,
        readable=row["readable"],
        rows=row["rows"],
        accepted=row["accepted"],
        held=row["held"],
    )


def _refused(arrival: Arrival, submission: str, fact: Mapping[str, Any], why: str) -> Outcome:
    return Outcome(
        file_id=arrival.file_id,
        name=arrival.name,
        submission=submission,
        receipt=None,
        received=None,
        already_loaded=False,
        readable=bool(fact["readable"]),
        rows=int(fact["rows"]),
        accepted=int(fact["accepted"]),
        held=int(fact["held"]),
        refused=why,
    )

"""Bringing the store up to the journal: after a crash between the two, and when it is made anew."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.errors import DrainpoolError
from pipeline.load import archive, remains, store
from pipeline.load.journal import Line
from pipeline.load.records import CheckedSheets, Recheck
from pipeline.load.rows import hash_by_receipt, held_to_store, receipt_rows, runs_to_store

SHEETS_AT_ONCE = 400
EMPTY_HASH = "none"


@dataclass(frozen=True)
class Reread:
    """A receipt whose archived sheet now gives other rows than were written down when it was loaded."""

    receipt: int
    submission: str


def row_hashes(runs: pl.DataFrame, held: pl.DataFrame, receipts: Sequence[int]) -> dict[int, dict[str, str]]:
    """For each receipt the hashes that its journal line keeps: of its accepted and of its held rows.
    The wording of messages is left out: it may be bettered."""
    accepted = hash_by_receipt(runs)
    waiting = hash_by_receipt(held.drop("message")) if held.height else {}
    return {
        number: {
            "rows_sha256": accepted.get(number, EMPTY_HASH),
            "held_sha256": waiting.get(number, EMPTY_HASH),
        }
        for number in receipts
    }


def replay(
    connection: store.Connection,
    pool: Path,
    lines: Sequence[Line],
    waiting: Sequence[Line],
    recheck: Recheck,
) -> list[Reread]:
    """Carries out the `waiting` lines (the last of `lines`) in the store, one transaction per batch.
    Answers the receipts that now read differently. Raises DrainpoolError where a sheet's bytes are gone."""
    settings = {
        line.payload["fingerprint"]: line.payload["values"] for line in lines if line.event == "settings"
    }
    gone = erased_receipts(lines)
    differing: list[Reread] = []
    for batch in _batches(waiting):
        connection.begin()
        try:
            store.insert_lines(connection, batch)
            received = [line for line in batch if line.event == "received"]
            store.insert(connection, "receipts", receipt_rows(received, gone))
            for group in _alike(line for line in received if line.n not in gone):
                checked = _checked_again(pool, group, settings, recheck)
                differing += put_rows(connection, checked, group)
            for line in received:
                if line.n in gone:
                    remains.put_back(connection, pool, line, gone[line.n])
            connection.commit()
        except BaseException:
            connection.rollback()
            raise
    return differing


def _batches(lines: Sequence[Line]) -> Iterator[Sequence[Line]]:
    for start in range(0, len(lines), SHEETS_AT_ONCE):
        yield lines[start : start + SHEETS_AT_ONCE]


def _alike(lines: Iterator[Line]) -> list[list[Line]]:
    """Groups of receipts that were checked on one day under the same settings."""
    groups: dict[tuple[str, str], list[Line]] = {}
    for line in lines:
        groups.setdefault((line.payload["checked_on"], line.payload["settings"]), []).append(line)
    return list(groups.values())


def _checked_again(
    pool: Path, group: Sequence[Line], settings: Mapping[str, Any], recheck: Recheck
) -> CheckedSheets:

    files = [(_name(line), _bytes(pool, line)) for line in group]
    first = group[0].payload
    return recheck(files, date.fromisoformat(first["checked_on"]), settings[first["settings"]])


def _name(line: Line) -> str:
    return str((line.private or {}).get("file", line.payload["submission"][:8]))


def _bytes(pool: Path, line: Line) -> bytes:
    submission, ending = line.payload["submission"], line.payload["ending"]
    try:
        content = archive.fetch(pool, submission, ending)
    except FileNotFoundError:
        content = b""
    if archive.submission_of(content) != submission:
        raise DrainpoolError(
            f"The archived sheet {archive.place(pool, submission, ending)} is missing or damaged. "
            f"The store was left as it was. Restore that file from a backup, then type the command again; "
            f"drainpool verify --pool {pool} names everything that is damaged."
        )
    return content


def put_rows(connection: store.Connection, checked: CheckedSheets, group: Sequence[Line]) -> list[Reread]:
    """Inserts the accepted and held rows of freshly checked receipts (file_id = position in `group`)."""
    numbers = {position: line.n for position, line in enumerate(group)}
    runs, held = runs_to_store(checked, numbers), held_to_store(checked, numbers)
    store.insert(connection, "runs", runs)
    store.insert(connection, "held", held)
    hashes = row_hashes(runs, held, list(numbers.values()))
    return [
        Reread(line.n, line.payload["submission"])
        for line in group
        if any(line.payload[name] != value for name, value in hashes[line.n].items())
    ]


def erased_receipts(lines: Sequence[Line]) -> dict[int, Mapping[str, Any]]:
    """Receipts whose bytes have been erased -> what the journal keeps of them (counts, received, hashes)."""
    return {
        int(number): kept
        for line in lines
        if line.event == "erased"
        for number, kept in line.payload["receipts"].items()
    }

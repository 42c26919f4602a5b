"""Walking archive, journal, store and readers' copy, and naming what disagrees."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC
from pathlib import Path

import polars as pl

from pipeline.load.database import kept_rows, store
from pipeline.load.database.rows import EMPTY_HASH, HELD_SCHEMA, hash_of_accepted, hash_of_held, row_schema
from pipeline.load.database.writer import Writer
from pipeline.load.truth import archive, journal
from pipeline.load.truth.journal import Line
from pipeline.load.truth.receipts import Receipt, receipts_in
from schemas.kinds.registry import KINDS
from schemas.store import rows_table


@dataclass(frozen=True)
class Finding:
    """One thing that verify has to say. `damage`: something is wrong; otherwise a note (erased sheets, sheets
    archived by an interrupted load that were never received)."""

    where: str
    words: str
    damage: bool = True


def journal_findings(pool: Path) -> list[Finding]:
    """What is wrong with the journal file, line by line; empty where every line agrees with itself and
    with the one before. Needs no store."""
    content = (pool / journal.JOURNAL).read_bytes()
    whole = content.rfind(b"\n") + 1
    findings: list[Finding] = []
    previous: str | None = journal.FIRST_PREVIOUS
    for number, raw in enumerate(content[:whole].split(b"\n")[:-1], start=1):
        place = f"{journal.JOURNAL} line {number}"
        try:
            line = journal.parsed(raw, number)
        except journal.JournalDamagedError as damage:
            findings.append(Finding(place, damage.what))
            previous = None
            continue
        if previous is not None and line.previous != previous:
            findings.append(Finding(place, "it does not carry the hash of the line before it"))
        previous = line.hash
    try:
        journal.refuse_changed_end(content[whole:], content[:whole].count(b"\n") + 1)
    except journal.JournalDamagedError as damage:
        findings.append(Finding(f"{journal.JOURNAL} line {damage.line}", damage.what))
    return findings


def store_findings(writer: Writer, progress: Callable[[str], None] = lambda words: None) -> list[Finding]:
    """What disagrees between journal, archive, store and readers' copy of an opened pool."""
    lines = writer.lines
    receipts = receipts_in(lines)
    progress("Looking through the archive.")
    findings = _archive(writer.pool, receipts) + _privates(lines)
    progress("Comparing the store with the journal.")
    findings += _journal_copy(writer.connection, lines)
    findings += _rows(writer.connection, receipts)
    return findings + _published(writer)


def truth_findings(pool: Path, lines: Sequence[Line]) -> list[Finding]:
    """What is wrong with the journal's private parts and the archive: what no other file can heal. Needs no store."""
    return [finding for finding in _archive(pool, receipts_in(lines)) + _privates(lines) if finding.damage]


def member_keys(writer: Writer) -> frozenset[str]:
    """The keys of all members with an accepted row in the store, in force or not."""
    return frozenset(
        str(key)
        for kind in KINDS.values()
        for key in store.frame(
            writer.connection,
            f"SELECT DISTINCT member_key FROM {rows_table(kind)}",  # noqa: S608 our own names
        )["member_key"]
    )


def _archive(pool: Path, receipts: Mapping[int, Receipt]) -> list[Finding]:
    findings: list[Finding] = []
    expected: set[Path] = set()
    for receipt in receipts.values():
        if receipt.erased:
            findings.append(
                Finding(
                    f"submission {receipt.submission[:12]}",
                    f"erased (journal line {receipt.number})",
                    damage=False,
                )
            )
            continue
        path = archive.place(pool, receipt.submission, receipt.ending)
        expected.add(path)
        findings += _sheet(pool, path, receipt.submission)
    for digest in sorted({one.rows_kept for one in receipts.values() if one.rows_kept is not None}):
        path = kept_rows.place(pool, digest)
        expected.add(path)
        findings += _sheet(pool, path, digest, "the file of rows as they were read")
    gone = {one.submission for one in receipts.values() if one.erased}
    for path in archive.walk(pool):
        if path not in expected:
            erased = path.name.split(".")[0] in gone
            words = (
                "its member was erased, but the bytes are still here"
                if erased
                else "no journal line speaks of it: an interrupted load left it, and it may be deleted"
            )
            findings.append(Finding(_name(pool, path), words, damage=erased))
    return findings


def _sheet(pool: Path, path: Path, digest: str, what: str = "the sheet") -> list[Finding]:
    if not path.exists():
        return [Finding(_name(pool, path), f"{what} is missing from the archive")]
    if archive.submission_of(path.read_bytes()) != digest:
        return [Finding(_name(pool, path), f"{what}'s bytes are not those that were received")]
    return []


def _privates(lines: Sequence[Line]) -> list[Finding]:
    """Private parts may be blank only where an erasure says so."""
    allowed = {n for line in lines if line.event == "erased" for n in [line.n, *line.payload["lines"]]}
    return [
        Finding(f"{journal.JOURNAL} line {line.n}", "its private part is gone, and no erasure says so")
        for line in lines
        if line.erased and line.n not in allowed
    ]


def _journal_copy(connection: store.Connection, lines: Sequence[Line]) -> list[Finding]:
    held = store.lines_of(connection)
    if [line.n for line in held] != [line.n for line in lines]:
        return [Finding(store.STORE, f"it holds {len(held)} journal lines of {len(lines)}")]
    return [
        Finding(f"{store.STORE}, journal line {theirs.n}", "it is not what the journal says")
        for ours, theirs in zip(lines, held, strict=True)
        if ours != theirs or journal.line_hash(theirs) != theirs.hash
    ]


def _rows(connection: store.Connection, received: Mapping[int, Receipt]) -> list[Finding]:
    """Rows of each receipt against the hashes that the journal holds."""
    accepted: dict[int, dict[str, str]] = {}
    for kind in KINDS.values():
        table = _table(connection, rows_table(kind), row_schema(kind))
        for number, digest in hash_of_accepted(table).items():
            accepted.setdefault(number, {})[kind.name] = digest
    held = hash_of_held(_table(connection, "held", HELD_SCHEMA))
    receipts = {
        row["receipt"]: row for row in store.frame(connection, "SELECT * FROM receipts").iter_rows(named=True)
    }
    findings: list[Finding] = []
    for number in sorted({*received, *held, *accepted}):
        place = f"{store.STORE}, receipt {number}"
        if number not in received or number not in receipts:
            findings.append(Finding(place, "it is not the same in journal and store"))
            continue
        wanted, row = received[number], receipts[number]
        if accepted.get(number, {wanted.kind: EMPTY_HASH}) != {wanted.kind: wanted.rows_sha256}:
            findings.append(Finding(place, "its accepted rows are not those that were loaded"))
        if held.get(number, EMPTY_HASH) != wanted.held_sha256:
            findings.append(Finding(place, "its held rows are not those that were loaded"))
        if row["received"].replace(tzinfo=UTC) != wanted.received:
            findings.append(Finding(place, "its moment is not the one of the journal"))
        if any(
            row[name] != getattr(wanted, name) for name in ("kind", "submission", "rows", "accepted", "held")
        ):
            findings.append(Finding(place, "its counts are not those of the journal"))
    return findings


def _table(connection: store.Connection, table: str, schema: Mapping[str, pl.DataType]) -> pl.DataFrame:
    rows = store.frame(connection, f"SELECT {', '.join(schema)} FROM {table} ORDER BY receipt, sheet_row")  # noqa: S608 our own names
    return rows.cast(pl.Schema(schema))


def _published(writer: Writer) -> list[Finding]:
    """The readers' copy, where it is as new as the store, holds the same bytes."""
    last = store.last_line(writer.connection)
    if last is None:
        return []
    writer.connection.execute("CHECKPOINT")
    path = writer.pool / store.PUBLISHED / store.published_name(last[0])
    if not path.exists() or writer.republish:
        return []
    same = _file_hash(path) == _file_hash(writer.pool / store.STORE)
    return [] if same else [Finding(_name(writer.pool, path), "it is not a copy of the store")]


def _file_hash(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _name(pool: Path, path: Path) -> str:
    return path.relative_to(pool).as_posix()

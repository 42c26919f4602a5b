"""Bringing a pool of an older version up to this one, when it is first opened for writing.

The store of any version is made anew from the journal and the kept rows, so a change of its tables needs no step of
its own. Pools of 0.1.0 kept no rows: theirs are taken out of their store (or read anew where it is gone), laid into
the archive, and named by one journal line, `upgraded`. Killed before that line nothing has happened; killed behind
it, the next opening makes the store.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

import polars as pl

from pipeline.errors import DrainpoolError
from pipeline.load.database import kept_rows, store, version_0_1_0
from pipeline.load.database.rows import (
    HELD_SCHEMA,
    accepted_to_store,
    held_to_store,
    row_hashes,
    row_schema,
    with_label_keys,
)
from pipeline.load.truth import archive, journal
from pipeline.load.truth.journal import Change, Line
from pipeline.load.truth.receipts import ROW_HASH, Receipt, receipts_in
from pipeline.load.truth.records import Recheck
from schemas.kinds.registry import kind_named
from schemas.kinds.run import RUN
from schemas.version import VERSION

BY = "drainpool"
Rows = tuple[pl.DataFrame, pl.DataFrame]


def upgraded(
    pool: Path,
    lines: Sequence[Line],
    connection: store.Connection | None,
    recheck: Recheck,
    say: Callable[[str], None],
) -> list[Line]:
    """The journal with the line that a pool of 0.1.0 needs, written; the same lines where it needs none.
    `connection`: the pool's old store, where there is one. Raises DrainpoolError where a sheet whose rows stand
    nowhere else is gone from the archive."""
    old = [receipt for receipt in receipts_in(lines).values() if receipt.row_hash < ROW_HASH]
    if not old:
        return list(lines)
    say(
        f"Bringing {pool} up to drainpool {VERSION}: the rows of {len(old)} sheets are kept as they were read."
    )
    (runs, held), differing = _rows_of(pool, lines, old, connection, recheck)
    if differing:
        say(
            f"{len(differing)} sheets had to be read anew, and are read differently now than when they were loaded "
            f"(first: {differing[0].submission[:8]})."
        )
    content = kept_rows.as_bytes(runs, held)
    kept = None if content is None else archive.submission_of(content)
    if content is not None:
        archive.put(pool, [(content, kept_rows.ENDING)])
    hashes = row_hashes(runs, held, [receipt.number for receipt in old])
    with_rows = {*runs["receipt"], *held["receipt"]}
    changed = {
        str(receipt.number): {
            **hashes[receipt.number],
            "row_hash": ROW_HASH,
            "rows_kept": kept if receipt.number in with_rows else None,
            "remains": None,
        }
        for receipt in old
    }
    change = Change(
        "upgraded",
        {"drainpool": VERSION, "receipts": changed, "read_differently": [one.number for one in differing]},
    )
    written = journal.written([change], lines[-1], lines[-1].at, BY)
    journal.append(pool, written)
    archive.remove(version_0_1_0.remains_place(pool, receipt) for receipt in old if receipt.remains)
    return [*lines, *written]


def _rows_of(
    pool: Path,
    lines: Sequence[Line],
    old: Sequence[Receipt],
    connection: store.Connection | None,
    recheck: Recheck,
) -> tuple[Rows, list[Receipt]]:
    """All rows of the receipts: from the store where they are those of the journal, from what was kept of an erased
    sheet, else read anew; and the receipts that are read differently now."""
    runs, held = _stored(connection)
    numbers = [receipt.number for receipt in old]
    hashes = version_0_1_0.row_hashes(runs, held, numbers)
    in_store = [one.number for one in old if hashes[one.number] == (one.rows_sha256, one.held_sha256)]
    parts: list[Rows] = [_of(runs, held, in_store)]
    anew = []
    for receipt in old:
        if receipt.number in set(in_store):
            continue
        if not receipt.erased:
            anew.append(receipt)
        elif receipt.remains is not None:
            left = version_0_1_0.remains(pool, receipt)
            if left is None:
                raise _gone(pool, version_0_1_0.remains_place(pool, receipt))
            parts.append(left)
    differing: list[Receipt] = []
    for group in _alike(anew):
        read = _read_anew(pool, lines, group, recheck)
        again = version_0_1_0.row_hashes(*read, [one.number for one in group])
        differing += [one for one in group if again[one.number] != (one.rows_sha256, one.held_sha256)]
        parts.append(read)
    runs, held = (pl.concat(frames).sort("receipt", "sheet_row") for frames in zip(*parts, strict=True))
    return (with_label_keys(runs), held), differing


def _stored(connection: store.Connection | None) -> Rows:
    """What the old store holds, in today's columns; nothing where there is no store of 0.1.0, or a damaged one."""
    schema = row_schema(kind_named(RUN.name))
    empty = pl.DataFrame(schema=schema), pl.DataFrame(schema=HELD_SCHEMA)
    if connection is None or store.version_of(connection) != 1:
        return empty
    run_names, held_names = ", ".join(version_0_1_0.RUN_COLUMNS), ", ".join(HELD_SCHEMA)
    try:
        runs = store.frame(connection, f"SELECT {run_names} FROM runs ORDER BY receipt, sheet_row")  # noqa: S608 our own names
        held = store.frame(connection, f"SELECT {held_names} FROM held ORDER BY receipt, sheet_row")  # noqa: S608 our own names
    except store.StoreError:
        return empty
    absent = [pl.lit(None, kind).alias(name) for name, kind in schema.items() if name not in runs.columns]
    runs = runs.with_columns(absent).select([pl.col(name).cast(kind) for name, kind in schema.items()])
    return runs, held.cast(pl.Schema(HELD_SCHEMA))


def _of(runs: pl.DataFrame, held: pl.DataFrame, numbers: Sequence[int]) -> Rows:
    mine = pl.col("receipt").is_in(list(numbers))
    return runs.filter(mine), held.filter(mine)


def _alike(receipts: Sequence[Receipt]) -> list[list[Receipt]]:
    """Groups of receipts of one kind of sheet that were checked on one day under the same settings."""
    groups: dict[tuple[str, str, str], list[Receipt]] = {}
    for receipt in receipts:
        groups.setdefault((receipt.kind, receipt.checked_on, receipt.settings), []).append(receipt)
    return list(groups.values())


def _read_anew(pool: Path, lines: Sequence[Line], group: Sequence[Receipt], recheck: Recheck) -> Rows:
    """The rows of sheets of one kind as today's rules read them; none of a sheet that is another kind now."""
    settings = {
        line.payload["fingerprint"]: line.payload["values"] for line in lines if line.event == "settings"
    }
    files = [
        (receipt.file or receipt.submission[:8], sheet_bytes(pool, receipt), receipt.columns)
        for receipt in group
    ]
    checked = recheck(files, date.fromisoformat(group[0].checked_on), settings[group[0].settings])
    numbers = {position: receipt.number for position, receipt in enumerate(group)}
    return accepted_to_store(checked, numbers, kind_named(group[0].kind)), held_to_store(checked, numbers)


def sheet_bytes(pool: Path, receipt: Receipt) -> bytes:
    """The bytes of a received sheet. Raises DrainpoolError where they are missing or were changed."""
    path = archive.place(pool, receipt.submission, receipt.ending)
    content = path.read_bytes() if path.exists() else b""
    if archive.submission_of(content) != receipt.submission:
        raise _gone(pool, path)
    return content


def _gone(pool: Path, path: Path) -> DrainpoolError:
    return DrainpoolError(
        f"The archived sheet {path} is missing or damaged. The store was left as it was. Restore that file from a "
        f"backup, then type the command again; drainpool verify --pool {pool} names everything that is damaged."
    )


def read_differently(pool: Path, lines: Sequence[Line], recheck: Recheck) -> list[Receipt]:
    """The receipts whose sheets today's rules would read otherwise than they were read; changes nothing. Sheets that
    are missing from the archive, or were erased, are passed over."""
    receipts = [
        one
        for one in receipts_in(lines).values()
        if not one.erased and archive.place(pool, one.submission, one.ending).exists()
    ]
    differing = []
    for group in _alike(receipts):
        hashes = row_hashes(*_read_anew(pool, lines, group, recheck), [one.number for one in group])
        differing += [
            one
            for one in group
            if hashes[one.number] != {"rows_sha256": one.rows_sha256, "held_sha256": one.held_sha256}
        ]
    return sorted(differing, key=lambda one: one.number)

"""Bringing the store up to the journal: after a crash between the two, and when it is made anew."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pipeline.load.database import kept_rows, store
from pipeline.load.database.rows import receipt_rows
from pipeline.load.truth.journal import Line
from pipeline.load.truth.receipts import receipts_in, received_in
from schemas.kinds.registry import kind_named
from schemas.store import rows_table


def replay(connection: store.Connection, pool: Path, lines: Sequence[Line], waiting: Sequence[Line]) -> None:
    """Carries out the `waiting` lines (the last of `lines`) in the store, in one transaction, with the rows as they
    were read. Raises DrainpoolError where a file of rows is gone."""
    numbers = {line.n for line in waiting}
    receipts = [receipt for number, receipt in receipts_in(lines).items() if number in numbers]
    kinds = {receipt.number: receipt.kind for receipt in receipts}
    files: dict[str, list[int]] = {}
    for receipt in receipts:
        if receipt.rows_kept is not None:
            files.setdefault(receipt.rows_kept, []).append(receipt.number)
    connection.begin()
    try:
        store.insert_lines(connection, waiting)
        store.insert(connection, "receipts", receipt_rows(receipts))
        for digest, mine in files.items():
            kind = kind_named(kinds[mine[0]])
            accepted, held = kept_rows.recall(pool, digest, kind, mine)
            store.insert(connection, rows_table(kind), accepted)
            store.insert(connection, "held", held)
        if any(line.event == "restamped" for line in waiting):
            store.set_received(connection, received_in(lines))
        connection.commit()
    except BaseException:
        connection.rollback()
        raise

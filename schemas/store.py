"""The tables of the pool's store, made from the kinds of sheet: accepted rows of each kind have a table of their own.
The store is derived: archive and journal are the truth, and these tables can be made again from them at any time.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable

from schemas.column import Kept
from schemas.frame_types import sql_type
from schemas.kinds.kind import SheetKind
from schemas.kinds.registry import KINDS
from schemas.kinds.run import RUN

TABLES_SINCE = 2
"""Raised with every change of the tables below but for columns of accepted rows: these say `since` themselves."""
STORE_VERSION = max(TABLES_SINCE, *(column.since for kind in KINDS.values() for column in kind.kept))
"""The version of a store's tables. An older store is made anew from journal and kept rows; an older drainpool refuses
a newer one."""


def rows_table(kind: SheetKind) -> str:
    """Name of the table with the accepted rows of a kind of sheet: `runs` for the run sheet, else `NAME_rows`."""
    return "runs" if kind.name == RUN.name else f"{kind.name}_rows"


def stored_columns(kind: SheetKind) -> tuple[Kept, ...]:
    """The columns of an accepted row in the store; its submission is found through `receipt`."""
    return tuple(column for column in kind.kept if column.name != "submission")


def tables(kinds: Iterable[SheetKind]) -> dict[str, str]:
    """Table name -> the statement that makes it. `receipt` is the number of the journal line that recorded it;
    `held.waits` is false for dropped repeats, which need nobody; `held.reasons` and `held.cells` are JSON."""
    return {
        "meta": "CREATE TABLE meta (name VARCHAR NOT NULL, value VARCHAR NOT NULL)",
        "journal": (
            "CREATE TABLE journal (n BIGINT NOT NULL, moment TIMESTAMP NOT NULL, person VARCHAR NOT NULL, "
            "event VARCHAR NOT NULL, payload VARCHAR NOT NULL, private VARCHAR, private_sha256 VARCHAR, "
            "previous VARCHAR NOT NULL, hash VARCHAR NOT NULL)"
        ),
        "receipts": (
            "CREATE TABLE receipts (receipt BIGINT NOT NULL, kind VARCHAR NOT NULL, submission VARCHAR NOT NULL, file VARCHAR, "
            "received TIMESTAMP NOT NULL, rows BIGINT NOT NULL, accepted BIGINT NOT NULL, held BIGINT NOT NULL, "
            "readable BOOLEAN NOT NULL, whole_series BOOLEAN NOT NULL)"
        ),
        **{rows_table(kind): _rows_statement(kind) for kind in kinds},
        "held": (
            "CREATE TABLE held (receipt BIGINT NOT NULL, sheet_row BIGINT, reasons VARCHAR NOT NULL, "
            "waits BOOLEAN NOT NULL, cells VARCHAR NOT NULL, message VARCHAR NOT NULL)"
        ),
    }


def shape_of(kinds: Iterable[SheetKind]) -> str:
    """A fingerprint of the tables. A store of another shape lacks a kind or a column, and is made anew."""
    return hashlib.sha256(json.dumps(tables(kinds), sort_keys=True).encode()).hexdigest()[:16]


def _rows_statement(kind: SheetKind) -> str:
    columns = ", ".join(map(_column, stored_columns(kind)))
    return f"CREATE TABLE {rows_table(kind)} (receipt BIGINT NOT NULL, {columns})"


def _column(column: Kept) -> str:
    needed = "" if column.nullable else " NOT NULL"
    check = " CHECK (ended IN ('reached', 'stopped', 'ran_dry'))" if column.name == "ended" else ""
    return f"{column.name} {sql_type(column.frame)}{needed}{check}"

"""The tables of the pool's store, made from the columns of a run. The store is derived: archive and journal
are the truth, and these tables can be made again from them at any time.
"""

from __future__ import annotations

from schemas.column import Kept
from schemas.columns import RUN_COLUMNS
from schemas.frame_types import sql_type

STORE_VERSION = 2
"""Raised with every change of the tables below; an older store is then made anew from journal and kept rows."""

STORED_RUN_COLUMNS: tuple[Kept, ...] = tuple(column for column in RUN_COLUMNS if column.name != "submission")
"""A run's columns in the store; its submission is found through `receipt`."""


def _column(column: Kept) -> str:
    needed = "" if column.nullable else " NOT NULL"
    check = " CHECK (ended IN ('reached', 'stopped', 'ran_dry'))" if column.name == "ended" else ""
    return f"{column.name} {sql_type(column.frame)}{needed}{check}"


TABLES: dict[str, str] = {
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
    "runs": f"CREATE TABLE runs (receipt BIGINT NOT NULL, {', '.join(map(_column, STORED_RUN_COLUMNS))})",
    "held": (
        "CREATE TABLE held (receipt BIGINT NOT NULL, sheet_row BIGINT, reasons VARCHAR NOT NULL, "
        "waits BOOLEAN NOT NULL, cells VARCHAR NOT NULL, message VARCHAR NOT NULL)"
    ),
}
"""Table name -> the statement that makes it. `receipt` is the number of the journal line that recorded it;
`held.waits` is false for dropped repeats, which need nobody; `held.reasons` and `held.cells` are JSON."""

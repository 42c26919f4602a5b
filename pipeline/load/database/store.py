"""The DuckDB store: `pool.duckdb`, made from archive and journal, and the readers' copy of it.

Only this file speaks to DuckDB. One connection writes at a time (the pool's lock is held around it); readers
open a published copy that never changes: each copy has a name of its own, made from the journal line it
holds, because a second connection of one process to a replaced path would go on seeing the old file.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import duckdb
import polars as pl

from pipeline.errors import DrainpoolError, OlderPoolError
from pipeline.load.truth.journal import Line, canonical, put_right
from schemas.kinds.registry import KINDS
from schemas.store import STORE_VERSION, shape_of, tables

STORE = "pool.duckdb"
PUBLISHED = "published"
CONFIG: dict[str, str | bool | int | float | list[str]] = {
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
}

Connection = duckdb.DuckDBPyConnection
StoreError = duckdb.Error
StoreFailed = (
    duckdb.IOException,
    duckdb.FatalException,
    duckdb.InternalException,
    duckdb.OutOfMemoryException,
    duckdb.SerializationException,
    duckdb.TransactionException,
)
"""What a disk or a damaged file can do to the store; anything else is a fault of this program."""


def connect(path: Path, read_only: bool = False) -> Connection:
    """An open connection to the store file; makes the file where it is missing and may be written."""
    return duckdb.connect(str(path), read_only=read_only, config=CONFIG)


def make_tables(connection: Connection) -> None:
    """An empty store in an empty file, with a table for every kind of sheet."""
    connection.begin()
    for statement in tables(KINDS.values()).values():
        connection.execute(statement)
    shape = shape_of(KINDS.values())
    connection.execute("INSERT INTO meta VALUES ('version', ?), ('shape', ?)", [str(STORE_VERSION), shape])
    connection.commit()


def version_of(connection: Connection) -> int | None:
    """The store's version; None where the file holds no finished store."""
    try:
        found = connection.execute("SELECT value FROM meta WHERE name = 'version'").fetchall()
    except duckdb.CatalogException:
        return None
    return int(found[0][0]) if found else None


def is_current(connection: Connection) -> bool:
    """Whether a finished store has this version's tables, a column for everything that the kinds of sheet keep."""
    shape = connection.execute("SELECT value FROM meta WHERE name = 'shape'").fetchall()
    return version_of(connection) == STORE_VERSION and shape == [(shape_of(KINDS.values()),)]


def insert(connection: Connection, table: str, rows: pl.DataFrame) -> None:
    """Adds rows to a table, columns by name."""
    if rows.is_empty():
        return
    arriving = rows.to_arrow()
    connection.register("arriving", arriving)
    names = ", ".join(rows.columns)
    connection.execute(f"INSERT INTO {table} ({names}) SELECT {names} FROM arriving")  # noqa: S608 our own names
    connection.unregister("arriving")


def insert_lines(connection: Connection, lines: Sequence[Line]) -> None:
    """Adds journal lines to the store's own copy of the journal."""
    insert(
        connection,
        "journal",
        pl.DataFrame(
            {
                "n": [line.n for line in lines],
                "moment": [line.written_at.replace(tzinfo=None) for line in lines],
                "person": [line.by for line in lines],
                "event": [line.event for line in lines],
                "payload": [canonical(line.payload) for line in lines],
                "private": [None if line.private is None else canonical(line.private) for line in lines],
                "private_sha256": [line.private_sha256 for line in lines],
                "previous": [line.previous for line in lines],
                "hash": [line.hash for line in lines],
            },
            schema_overrides={"private": pl.String, "private_sha256": pl.String, "moment": pl.Datetime("us")},
        ),
    )


def lines_of(connection: Connection) -> list[Line]:
    """The journal as the store holds it."""
    rows = connection.execute(
        "SELECT n, moment, person, event, payload, private, private_sha256, previous, hash FROM journal ORDER BY n"
    ).fetchall()
    lines = [
        Line(
            n,
            moment.replace(tzinfo=UTC),
            person,
            event,
            json.loads(payload),
            None if private is None else json.loads(private),
            private_sha256,
            previous,
            line_hash,
        )
        for n, moment, person, event, payload, private, private_sha256, previous, line_hash in rows
    ]
    return put_right(lines)


def set_received(connection: Connection, received: Mapping[int, datetime]) -> None:
    """Gives receipts other moments, by number: where the journal put those of a wrong clock right."""
    for number, moment in received.items():
        connection.execute(
            "UPDATE receipts SET received = ? WHERE receipt = ?", [moment.replace(tzinfo=None), number]
        )


def last_line(connection: Connection) -> tuple[int, str] | None:
    """Number and hash of the newest journal line that the store holds; None while it holds none."""
    found = connection.execute("SELECT n, hash FROM journal ORDER BY n DESC LIMIT 1").fetchall()
    return (int(found[0][0]), str(found[0][1])) if found else None


def frame(connection: Connection, query: str, **tables: pl.DataFrame) -> pl.DataFrame:
    """The rows of a query; `tables` are frames that the query may name."""
    for name, rows in tables.items():
        connection.register(name, rows.to_arrow())
    answer = pl.DataFrame(connection.sql(query).to_arrow_table())
    for name in tables:
        connection.unregister(name)
    return answer


def publish(pool: Path, last: int) -> None:
    """Makes the readers' copy of a closed store that holds the journal up to line `last`."""
    folder = pool / PUBLISHED
    folder.mkdir(exist_ok=True)
    target = folder / published_name(last)
    temporary = folder / f".{target.name}.new"
    try:
        shutil.copyfile(pool / STORE, temporary)
        temporary.replace(target)
    except OSError:
        temporary.unlink(missing_ok=True)
        raise
    for old in folder.iterdir():
        if old != target:
            old.unlink(missing_ok=True)


def take_published(pool: Path) -> None:
    """Makes a store that is gone from the newest readers' copy, where there is one."""
    copies = sorted((pool / PUBLISHED).glob("pool-*.duckdb"))
    if copies:
        temporary = pool / f"{STORE}.taken"
        shutil.copyfile(copies[-1], temporary)
        temporary.replace(pool / STORE)


def published_name(last: int) -> str:
    """Name of the readers' copy that holds the journal up to line `last`."""
    return f"pool-{last:09d}.duckdb"


@contextmanager
def reading(pool: Path) -> Iterator[Connection]:
    """A read-only connection to the newest readers' copy. Raises DrainpoolError where there is none."""
    connection = _newest(pool)
    try:
        yield connection
    finally:
        connection.close()


def _newest(pool: Path) -> Connection:
    """Tries again where a writer takes the copy away between looking and opening."""
    problem: Exception | None = None
    for _ in range(20):
        copies = sorted((pool / PUBLISHED).glob("pool-*.duckdb"))
        if not copies:
            break
        try:
            connection = connect(copies[-1], read_only=True)
        except duckdb.Error as error:
            problem = error
            continue
        try:
            refuse_other(connection, pool)
        except DrainpoolError:
            connection.close()
            raise
        return connection
    if problem is not None:
        raise DrainpoolError(
            f"The readers' copy of {pool} can't be opened. Nothing was changed. "
            f"Type: drainpool rebuild --pool {pool}"
        ) from problem
    raise DrainpoolError(
        f"{pool} holds no pool that can be read. Check the folder's name; a pool begins with its first load."
    )


def refuse_other(connection: Connection, pool: Path) -> None:
    """Raises OlderPoolError for a readers' copy with other tables: it is brought up by the next command that writes."""
    version = version_of(connection)
    refuse_newer(version, pool)
    if version is not None and not is_current(connection):
        raise OlderPoolError(
            f"{pool} was last written by an older drainpool. Nothing was changed. "
            f"To bring it up to this version, type: drainpool verify --pool {pool}"
        )


def refuse_newer(version: int | None, pool: Path) -> None:
    """Raises DrainpoolError for a store made by a newer drainpool."""
    if version is not None and version > STORE_VERSION:
        raise DrainpoolError(
            f"{pool} was last written by a newer drainpool (store version {version}; this one knows "
            f"{STORE_VERSION}). Nothing was changed. Use the newer drainpool."
        )


def count(connection: Connection, table: str) -> int:
    """How many rows a table holds."""
    return int(connection.execute(f"SELECT count(*) FROM {table}").fetchall()[0][0])  # noqa: S608 our own names


def compact(pool: Path) -> None:
    """Writes a closed store anew, so that nothing of deleted rows stays in its file."""
    fresh = pool / f"{STORE}.compact"
    fresh.unlink(missing_ok=True)
    try:
        connection = duckdb.connect(config=CONFIG)
        try:
            connection.execute(f"ATTACH '{_quoted(pool / STORE)}' AS old (READ_ONLY)")
            connection.execute(f"ATTACH '{_quoted(fresh)}' AS fresh")
            connection.execute("COPY FROM DATABASE old TO fresh")
        finally:
            connection.close()
        fresh.replace(pool / STORE)
    finally:
        fresh.unlink(missing_ok=True)


def _quoted(path: Path) -> str:
    return str(path).replace("'", "''")

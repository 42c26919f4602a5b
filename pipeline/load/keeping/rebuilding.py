"""Making the store again from the journal and the kept rows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import DrainpoolError
from pipeline.load.database import store, upgrade
from pipeline.load.database.replay import replay
from pipeline.load.keeping.opening import discard_store, is_pool, read_journal, worded_failures
from pipeline.load.truth.journal import Line
from pipeline.load.truth.lock import one_writer
from pipeline.load.truth.records import Recheck
from schemas.kinds.registry import KINDS
from schemas.store import rows_table

NEW_STORE = "pool.duckdb.new"


@dataclass(frozen=True)
class Rebuilt:
    """What a rebuilt store holds; `runs` counts the accepted rows of every kind of sheet."""

    receipts: int
    runs: int


def rebuild(
    pool: Path,
    *,
    recheck: Recheck,
    say: Callable[[str], None],
    wait_s: float = 600.0,
) -> Rebuilt:
    """Makes `pool.duckdb` and the readers' copy again, content for content, from the journal and the kept rows.

    The old store stays until the new one is whole. `recheck` is used for pools of 0.1.0 only, whose rows are kept at
    this first opening. Raises DrainpoolError where the journal or a file of rows is damaged."""
    if not is_pool(pool):
        raise DrainpoolError(f"{pool} holds no pool. Check the folder's name.")
    with worded_failures(pool), one_writer(pool, say, wait_s):
        lines = _upgraded(pool, read_journal(pool, say), recheck, say)
        _remove_new(pool)
        try:
            connection = store.connect(pool / NEW_STORE)
            try:
                store.make_tables(connection)
                replay(connection, pool, lines, lines)
                receipts = store.count(connection, "receipts")
                runs = sum(store.count(connection, rows_table(kind)) for kind in KINDS.values())
                connection.execute("CHECKPOINT")
            finally:
                connection.close()
            discard_store(pool)
            (pool / NEW_STORE).replace(pool / store.STORE)
        finally:
            _remove_new(pool)
        if lines:
            store.publish(pool, lines[-1].n)
    return Rebuilt(receipts, runs)


def _upgraded(pool: Path, lines: list[Line], recheck: Recheck, say: Callable[[str], None]) -> list[Line]:
    """The journal brought up to this version, with the rows of the old store where that can still be read."""
    if not (pool / store.STORE).exists():
        return upgrade.upgraded(pool, lines, None, recheck, say)
    try:
        old = store.connect(pool / store.STORE)
    except store.StoreError:
        return upgrade.upgraded(pool, lines, None, recheck, say)
    try:
        store.refuse_newer(store.version_of(old), pool)
        return upgrade.upgraded(pool, lines, old, recheck, say)
    finally:
        old.close()


def _remove_new(pool: Path) -> None:
    for name in (NEW_STORE, f"{NEW_STORE}.wal"):
        (pool / name).unlink(missing_ok=True)

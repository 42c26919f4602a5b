"""Making the store again from archive and journal."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import DrainpoolError
from pipeline.load import store
from pipeline.load.lock import one_writer
from pipeline.load.opening import discard_store, is_pool, read_journal, worded_failures
from pipeline.load.records import Recheck
from pipeline.load.replay import Reread, replay

NEW_STORE = "pool.duckdb.new"


@dataclass(frozen=True)
class Rebuilt:
    """What a rebuilt store holds. `differing`: receipts that this drainpool reads differently than they were
    read when they were loaded (only where there was no store to keep)."""

    receipts: int
    runs: int
    differing: tuple[Reread, ...]


def rebuild(
    pool: Path,
    *,
    recheck: Recheck,
    say: Callable[[str], None],
    wait_s: float = 600.0,
    take_new_reading: bool = False,
) -> Rebuilt:
    """Makes `pool.duckdb` and the readers' copy again, content for content, from archive and journal.

    The old store stays until the new one is whole. Raises DrainpoolError where the journal or a sheet is
    damaged, and where sheets now read differently than when they were loaded while an old store still stands
    (unless `take_new_reading`): then the old store is kept."""
    if not is_pool(pool):
        raise DrainpoolError(f"{pool} holds no pool. Check the folder's name.")
    with worded_failures(pool), one_writer(pool, say, wait_s):
        lines = read_journal(pool, say)
        _remove_new(pool)
        try:
            connection = store.connect(pool / NEW_STORE)
            try:
                store.make_tables(connection)
                differing = replay(connection, pool, lines, lines, recheck)
                receipts, runs = (store.count(connection, table) for table in ("receipts", "runs"))
                connection.execute("CHECKPOINT")
            finally:
                connection.close()
            if differing and not take_new_reading and (pool / store.STORE).exists():
                raise DrainpoolError(_words(pool, differing))
            discard_store(pool)
            (pool / NEW_STORE).replace(pool / store.STORE)
        finally:
            _remove_new(pool)
        if lines:
            store.publish(pool, lines[-1].n)
    return Rebuilt(receipts, runs, tuple(differing))


def _remove_new(pool: Path) -> None:
    for name in (NEW_STORE, f"{NEW_STORE}.wal"):
        (pool / name).unlink(missing_ok=True)


def _words(pool: Path, differing: list[Reread]) -> str:
    named = ", ".join(one.submission[:8] for one in differing[:5])
    more = f" and {len(differing) - 5} more" if len(differing) > 5 else ""
    return (
        f"{len(differing)} sheets are read differently by this drainpool than when they were loaded: "
        f"{named}{more}. The old store of {pool} was kept. Use the drainpool that loaded them."
    )

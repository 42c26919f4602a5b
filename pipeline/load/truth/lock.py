"""One writer at a time: the pool's lock file, held by the operating system and let go when a process ends."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from pipeline.errors import DrainpoolError

LOCK = "pool.lock"
FIRST_TRY_S = 0.2


@contextmanager
def one_writer(pool: Path, say: Callable[[str], None], wait_s: float) -> Iterator[None]:
    """Holds the pool's lock. Says once when another process holds it; gives up, worded, after `wait_s`."""
    lock = FileLock(pool / LOCK, fallback_to_soft=False)
    try:
        lock.acquire(timeout=min(FIRST_TRY_S, wait_s))
    except Timeout:
        say(f"Another drainpool is writing to {pool}. Waiting for it to finish (up to {wait_s:g} s).")
        try:
            lock.acquire(timeout=wait_s)
        except Timeout:
            raise DrainpoolError(
                f"Another drainpool has been writing to {pool} for more than {wait_s:g} s. "
                "Nothing was changed. Run the command again when it has finished."
            ) from None
    try:
        yield
    finally:
        lock.release()

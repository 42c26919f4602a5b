"""What readers see of a pool: its newest readers' copy. Nothing here waits for a writer or changes anything."""

from __future__ import annotations

from pathlib import Path

from pipeline.load.changes.decisions import SHORTEST_HASH
from pipeline.load.changes.editions import editions, is_invented
from pipeline.load.database.store import PUBLISHED
from pipeline.load.keeping.opening import MAY_STAND_IN_A_NEW_POOL, is_pool
from pipeline.load.truth.records import View
from pipeline.load.views.reading import view

__all__ = [
    "SHORTEST_HASH",
    "View",
    "foreign_file",
    "is_invented",
    "is_pool",
    "is_published",
    "newest_copy",
    "view",
]


def newest_copy(pool: Path) -> str | None:
    """The name of the newest readers' copy: it changes with every change of the pool. None where there is none."""
    return max((path.name for path in (pool / PUBLISHED).glob("pool-*.duckdb")), default=None)


def is_published(pool: Path, month: str) -> bool:
    """Whether everybody may read this month: its newest edition is published."""
    made = editions(pool, month) if is_pool(pool) else []
    return bool(made) and made[-1].published


def foreign_file(pool: Path) -> str | None:
    """A file that keeps a folder from becoming a pool; None in a pool, and where the folder is free for one."""
    if is_pool(pool) or not pool.exists():
        return None
    return min({path.name for path in pool.iterdir()} - MAY_STAND_IN_A_NEW_POOL, default=None)

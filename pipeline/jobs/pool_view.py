"""What readers see of a pool: its newest readers' copy. Nothing here waits for a writer or changes anything."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pipeline.load.changes.decisions import SHORTEST_HASH
from pipeline.load.changes.editions import editions, is_invented
from pipeline.load.database.store import PUBLISHED
from pipeline.load.keeping.opening import MAY_STAND_IN_A_NEW_POOL, is_pool
from pipeline.load.truth.records import View
from pipeline.load.views.reading import view

__all__ = [
    "SHORTEST_HASH",
    "EditionsShown",
    "View",
    "editions_shown",
    "foreign_file",
    "is_invented",
    "is_pool",
    "newest_copy",
    "view",
]


def newest_copy(pool: Path) -> str | None:
    """The name of the newest readers' copy: it changes with every change of the pool. None where there is none."""
    return max((path.name for path in (pool / PUBLISHED).glob("pool-*.duckdb")), default=None)


@dataclass(frozen=True)
class EditionsShown:
    """A month's newest edition, and the numbers of its published ones."""

    newest: int | None
    published: frozenset[int]


def editions_shown(pool: Path, month: str) -> EditionsShown:
    """What readers may see of a month: nothing of one that has no edition, or is still running."""
    made = editions(pool, month) if is_pool(pool) else []
    return EditionsShown(
        made[-1].number if made else None, frozenset(edition.number for edition in made if edition.published)
    )


def foreign_file(pool: Path) -> str | None:
    """A file that keeps a folder from becoming a pool; None in a pool, and where the folder is free for one."""
    if is_pool(pool) or not pool.exists():
        return None
    return min({path.name for path in pool.iterdir()} - MAY_STAND_IN_A_NEW_POOL, default=None)

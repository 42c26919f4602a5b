"""How new the readers' copy of a pool is."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from pipeline.load.database import store


def last_change(pool: Path) -> datetime:
    """The moment of the newest journal line that readers can see, UTC."""
    with store.reading(pool) as connection:
        return store.lines_of(connection)[-1].at

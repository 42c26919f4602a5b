"""Changes of what counts: runs withdrawn and restored, each a line in the journal."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pipeline.jobs.receive import pool_writer
from pipeline.load.records import Selection, Taken
from pipeline.load.steps import restore, withdraw


def withdraw_runs(
    pool: Path, chosen: Selection, reason: str, by_whom: str, say: Callable[[str], None]
) -> Taken:
    """Takes the runs of a member, of one series of theirs, or of a sheet out of later months."""
    with pool_writer(pool, by_whom, say, make=False) as writer:
        return withdraw(writer, chosen, reason)


def restore_runs(
    pool: Path, chosen: Selection, reason: str, by_whom: str, say: Callable[[str], None]
) -> Taken:
    """Puts such runs back into later months."""
    with pool_writer(pool, by_whom, say, make=False) as writer:
        return restore(writer, chosen, reason)

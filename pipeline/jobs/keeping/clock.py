"""A wrong clock and what it stamped: confirmed, or put right."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from pipeline.jobs.month.files.folder import month_folder
from pipeline.jobs.month.files.index_and_mails import MAILS, months_made, write_index
from pipeline.jobs.receiving.checking import now
from pipeline.jobs.receiving.steps import pool_writer
from pipeline.load.changes import restamping
from pipeline.load.changes.editions import editions_in
from pipeline.load.changes.restamping import Restamped
from pipeline.load.truth.moments import month_of

Say = Callable[[str], None]


def confirm_clock(pool: Path, by_whom: str, say: Say) -> None:
    """Writes down that this machine's clock is right though the pool rested for more than half a year."""
    with pool_writer(pool, by_whom, say) as writer:
        restamping.confirm_clock(writer)


def restamp(pool: Path, to: datetime | None, reason: str, by_whom: str, say: Say) -> Restamped:
    """Puts the moments right that a wrong clock stamped, and takes away reports of months that had not begun."""
    with pool_writer(pool, by_whom, say, make=False) as writer:
        restamped = restamping.restamp(writer, reason, to)
        for month in months_made(pool):
            if month > month_of(now()) and not editions_in(writer.lines, month):
                shutil.rmtree(month_folder(pool, month))
                shutil.rmtree(pool / MAILS / month, ignore_errors=True)
        if months_made(pool):
            write_index(pool, writer.lines)
    return restamped

"""A pool held open for writing, and the one way in which a change happens.

A change is made in this order: the store's transaction is filled, the journal lines are written and flushed
(from here on the change has happened), the transaction is committed. Killed before the journal: nothing
happened. Killed after it: the next opening carries the lines out in the store.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from pipeline.load.database import store
from pipeline.load.truth import journal
from pipeline.load.truth.journal import Change, Line
from pipeline.load.truth.records import Recheck

Fill = Callable[[store.Connection, Sequence[Line]], None]
"""Puts the rows of journal lines into the store, inside its transaction."""


@dataclass
class Writer:
    """A pool held open for writing, from its lock to its release.

    `lines` is the whole journal; `journal_bytes` its length at the opening and `laid` the sheets archived since,
    for taking everything back where the disk is too full to finish (not after `final`: bytes were erased).
    `republish`: readers get a new copy even though no line was added."""

    pool: Path
    connection: store.Connection
    lines: list[Line]
    by: str
    clock: Callable[[], datetime]
    say: Callable[[str], None]
    recheck: Recheck
    journal_bytes: int = 0
    laid: list[Path] = field(default_factory=list)
    final: bool = False
    republish: bool = False

    def next_line(self) -> int:
        """The number that the next journal line will have."""
        return len(self.lines) + 1

    def present(self) -> datetime:
        """The present moment in whole seconds, never before the newest journal line."""
        moment = self.clock().replace(microsecond=0)
        return max(moment, self.lines[-1].at) if self.lines else moment


def commit(
    writer: Writer,
    changes: Sequence[Change],
    fill: Fill | None = None,
) -> list[Line]:
    """Makes changes happen, all or none: fills the store's transaction, writes the journal, commits.
    `fill` puts the changes' own rows into the store. Answers the journal lines."""
    lines = journal.written(changes, writer.lines[-1] if writer.lines else None, writer.clock(), writer.by)
    connection = writer.connection
    connection.begin()
    try:
        store.insert_lines(connection, lines)
        if fill is not None:
            fill(connection, lines)
        length = journal.append(writer.pool, lines)
    except BaseException:
        with suppress(store.StoreError):
            connection.rollback()
        raise
    try:
        connection.commit()
    except store.StoreError:
        journal.take_back(writer.pool, length)
        raise
    writer.lines.extend(lines)
    return lines

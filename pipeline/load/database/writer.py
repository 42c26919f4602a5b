"""A pool held open for writing, and the one way in which a change happens.

A change is made in this order: the store's transaction is filled, the journal lines are written and flushed
(from here on the change has happened), the transaction is committed. Killed before the journal: nothing
happened. Killed after it: the next opening carries the lines out in the store.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

from pipeline.load.database import store
from pipeline.load.truth import journal
from pipeline.load.truth.clock import WITHOUT_A_CHECK, refuse_odd_clock
from pipeline.load.truth.journal import Change, Line
from pipeline.load.truth.records import Recheck
from schemas.trade.moments import moment_of

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

    def refuse_odd_clock(self) -> None:
        """Raises DrainpoolError where the clock is more than a day behind the newest line, or half a year ahead."""
        refuse_odd_clock(self.lines[-1].at if self.lines else None, self.clock(), self.pool)


def commit(
    writer: Writer,
    changes: Sequence[Change],
    fill: Fill | None = None,
) -> list[Line]:
    """Makes changes happen, all or none: fills the store's transaction, writes the journal, commits.
    `fill` puts the changes' own rows into the store. Answers the journal lines."""
    if not {change.event for change in changes} <= WITHOUT_A_CHECK:
        writer.refuse_odd_clock()
    lines = journal.written(changes, _before(writer, changes), writer.clock(), writer.by)
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
    writer.lines[:] = journal.put_right([*writer.lines, *lines])
    return lines


def _before(writer: Writer, changes: Sequence[Change]) -> Line | None:
    """The line that new ones follow. One that puts moments right is not held back by the wrong ones before it."""
    if not writer.lines:
        return None
    if changes[0].event == "restamped":
        return replace(writer.lines[-1], at=moment_of(changes[0].payload["to"]))
    return writer.lines[-1]

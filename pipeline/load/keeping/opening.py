"""Opening a pool for writing: the folder, the lock, the journal's end, the store brought up to it, and back."""

from __future__ import annotations

import errno
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Any

from pipeline.errors import DrainpoolError
from pipeline.load.changes import erasing
from pipeline.load.database import store, upgrade
from pipeline.load.database.replay import replay
from pipeline.load.database.writer import Writer, commit
from pipeline.load.truth import archive, journal
from pipeline.load.truth.archive import ARCHIVE
from pipeline.load.truth.journal import Change, Line
from pipeline.load.truth.lock import LOCK, one_writer
from pipeline.load.truth.receipts import receipts_in
from pipeline.load.truth.records import Recheck
from schemas.kinds.registry import KINDS

LAYOUT = 2
"""Raised when the journal or the archive are laid out in a way that an older drainpool can't read."""
MAY_STAND_IN_A_NEW_POOL = {LOCK, "settings.toml", "inbox", ".prefect", "receipts", "desk"}
LEFT_BY_AN_UNFINISHED_MAKING = {store.STORE, f"{store.STORE}.wal", store.PUBLISHED, ARCHIVE}
NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
NOT_ALLOWED = {errno.EROFS, errno.EACCES, errno.EPERM}


@contextmanager
def writing(
    pool: Path,
    *,
    by: str,
    clock: Callable[[], datetime],
    settings: Mapping[str, Any] | None,
    recheck: Recheck,
    say: Callable[[str], None],
    invented: bool = False,
    make: bool = True,
    wait_s: float = 600.0,
) -> Iterator[Writer]:
    """A pool opened for writing; makes it in a missing or empty folder when `make`.

    Waits for another writer (says so), carries out journal lines that the store has missed, and writes down
    changed `settings` (None: leaves them). On leaving, publishes the readers' copy. Raises DrainpoolError,
    worded, where the folder is something else, a newer drainpool's, full, or not to be written.
    """
    with worded_failures(pool):
        if not (pool / LOCK).exists():
            # a folder with a lock in it may be a pool that another process is just making: judged below
            _prepare_folder(pool, make)
        with one_writer(pool, say, wait_s):
            _prepare_folder(pool, make)
            writer = _opened(pool, by, clock, recheck, say)
            try:
                _first_lines(writer, settings, invented)
                yield writer
            except BaseException as error:
                if isinstance(error, OSError) and error.errno in NO_ROOM:
                    _abandon(writer)
                else:
                    _close(writer)
                raise
            _close(writer)


@contextmanager
def locked_journal(pool: Path, say: Callable[[str], None], wait_s: float = 600.0) -> Iterator[list[Line]]:
    """The journal of a pool that nobody else writes to meanwhile: to put files in place that rest on it. Raises
    DrainpoolError, worded, where the folder is full or not to be written."""
    with worded_failures(pool), one_writer(pool, say, wait_s):
        yield read_journal(pool, say)


@contextmanager
def worded_failures(pool: Path) -> Iterator[None]:
    """Turns a full disk, a folder that may not be written and a failing store into a DrainpoolError."""
    try:
        yield
    except OSError as error:
        if error.errno in NO_ROOM:
            raise DrainpoolError(
                f"There is no room left to write in {pool}. What was being written has been taken back; "
                "the pool is as it was. Make room and run the command again."
            ) from error
        if error.errno in NOT_ALLOWED:
            raise DrainpoolError(
                f"{pool} may not be written ({error.strerror}). Nothing was changed. "
                "Ask for the right to write there, or name another folder with --pool."
            ) from error
        raise
    except store.StoreFailed as error:
        raise DrainpoolError(
            f"The store {pool / store.STORE} could not be written or read: {str(error).splitlines()[0]} "
            "What was being written has been taken back. If there is room on the disk, type: "
            f"drainpool rebuild --pool {pool}"
        ) from error


def is_pool(pool: Path) -> bool:
    """Whether the folder holds a pool."""
    return (pool / journal.JOURNAL).exists()


def _prepare_folder(pool: Path, make: bool) -> None:
    """Makes the folder where a pool may be made in it; refuses it, worded, where not."""
    if is_pool(pool):
        return
    if pool.exists() and not pool.is_dir():
        raise DrainpoolError(
            f"{pool} is a file, not a folder. Nothing was changed. Name a folder with --pool."
        )
    found = sorted(path.name for path in pool.iterdir()) if pool.exists() else []
    if any(archive.walk(pool)):
        raise DrainpoolError(
            f"{pool} looks like a pool whose {journal.JOURNAL} is missing. Nothing was changed. "
            "Restore the folder from the newest backup."
        )
    if not make:
        raise DrainpoolError(
            f"{pool} holds no pool. Check the folder's name; a pool begins with its first load."
        )
    foreign = [name for name in found if name not in MAY_STAND_IN_A_NEW_POOL | LEFT_BY_AN_UNFINISHED_MAKING]
    if foreign:
        raise DrainpoolError(
            f"{pool} is not empty and is no pool (it holds {foreign[0]}). Nothing was changed. "
            "Name a new or an empty folder with --pool."
        )
    pool.mkdir(parents=True, exist_ok=True)


def _opened(
    pool: Path, by: str, clock: Callable[[], datetime], recheck: Recheck, say: Callable[[str], None]
) -> Writer:
    lines = read_journal(pool, say)
    connection = _open_store(pool, lines)
    try:
        lines = upgrade.upgraded(pool, lines, connection, recheck, say)
    except BaseException:
        connection.close()
        raise
    older = not store.is_current(connection)
    if older:
        connection = _made_anew(pool, connection)
    length = journal.journal_length(pool) if lines else 0
    writer = Writer(pool, connection, lines, by, clock, say, recheck, journal_bytes=length, republish=older)
    try:
        _catch_up(writer)
        if erasing.unfinished(writer.lines):
            erasing.finish(writer)
    except BaseException:
        writer.connection.close()
        raise
    return writer


def read_journal(pool: Path, say: Callable[[str], None]) -> list[Line]:
    """The journal of a locked pool, a torn last line cut off (and said so); empty for a pool not yet made.
    Refuses the journal of a newer drainpool: another layout, or a kind of sheet that this one lacks."""
    if not is_pool(pool):
        return []
    lines, torn = journal.read(pool)
    if torn:
        last = journal.mend_end(pool, torn, lines)
        if last is None:
            say("The last journal line was cut short by an interrupted command; that change never happened.")
        else:
            lines = journal.put_right([*lines, last])
    layout = max([line.payload["layout"] for line in lines if line.event == "made"], default=LAYOUT)
    if layout > LAYOUT:
        raise DrainpoolError(
            f"{pool} was made by a newer drainpool (layout {layout}; this one knows {LAYOUT}). "
            "Nothing was changed. Use the newer drainpool."
        )
    unknown = sorted({receipt.kind for receipt in receipts_in(lines).values()} - KINDS.keys())
    if unknown:
        raise DrainpoolError(
            f"{pool} holds sheets of a kind that this drainpool does not know ({unknown[0]}): a newer drainpool wrote "
            "it. Nothing was changed. Use the newer drainpool."
        )
    return lines


def _open_store(pool: Path, lines: Sequence[Line]) -> store.Connection:
    """The store, of this version or an older one; where it is gone, what the readers' copy holds, or an empty one."""
    path = pool / store.STORE
    gone = not path.exists()
    if not lines:
        discard_store(pool)
    elif gone:
        store.take_published(pool)
    connection = store.connect(path)
    version = store.version_of(connection)
    if version is None:
        # a store without its first row was being made when its process ended
        return _made_anew(pool, connection)
    try:
        store.refuse_newer(version, pool)
        held = store.last_line(connection)
    except BaseException:
        connection.close()
        raise
    if (
        not store.is_current(connection)
        or held is None
        or (held[0] <= len(lines) and lines[held[0] - 1].hash == held[1])
    ):
        return connection
    if gone:
        return _made_anew(pool, connection)
    connection.close()
    raise DrainpoolError(
        f"The store of {pool} does not fit its journal (they part at or before line {held[0]}). "
        f"Nothing was changed. Type: drainpool rebuild --pool {pool}"
    )


def _made_anew(pool: Path, connection: store.Connection) -> store.Connection:
    """An empty store in the place of one that holds nothing of use; the journal fills it."""
    connection.close()
    discard_store(pool)
    connection = store.connect(pool / store.STORE)
    store.make_tables(connection)
    return connection


def discard_store(pool: Path) -> None:
    """Takes the derived store away; archive and journal stay."""
    for name in (store.STORE, f"{store.STORE}.wal"):
        (pool / name).unlink(missing_ok=True)


def _catch_up(writer: Writer) -> None:
    held = store.last_line(writer.connection)
    missed = writer.lines[held[0] if held else 0 :]
    if not missed:
        return
    replay(writer.connection, writer.pool, writer.lines, missed)


def _first_lines(writer: Writer, settings: Mapping[str, Any] | None, invented: bool) -> None:
    changes: list[Change] = []
    if not writer.lines:
        (writer.pool / ARCHIVE).mkdir(exist_ok=True)
        changes.append(Change("made", {"layout": LAYOUT, "invented": invented}))
    newest = next((line for line in reversed(writer.lines) if line.event == "settings"), None)
    if settings is not None:
        fingerprint = journal.digest(journal.canonical(settings))
        if newest is None or newest.payload["fingerprint"] != fingerprint:
            changes.append(Change("settings", {"values": dict(settings), "fingerprint": fingerprint}))
    if changes:
        commit(writer, changes)


def _close(writer: Writer) -> None:
    """Closes the store and gives readers its newest state, where that is not there yet. Where the disk is too
    full for that, everything since the opening is taken back, so that nothing stays half done."""
    try:
        last = store.last_line(writer.connection)
        writer.connection.execute("CHECKPOINT")
        writer.connection.close()
        there = last is not None and (writer.pool / store.PUBLISHED / store.published_name(last[0])).exists()
        if last is not None and (writer.republish or not there):
            store.publish(writer.pool, last[0])
    except (OSError, store.StoreError):
        with suppress(store.StoreError):
            writer.connection.close()
        if not writer.final:
            _take_back(writer)
        raise


def _abandon(writer: Writer) -> None:
    """Leaves a session for which the disk has no room: what it wrote is taken back, unless bytes were erased."""
    with suppress(store.StoreError):
        writer.connection.close()
    if not writer.final:
        _take_back(writer)


def _take_back(writer: Writer) -> None:
    """Undoes a session that could not be finished: its journal lines, its sheets, its store. The store before it is
    what the readers' copy still holds; the next opening takes it from there."""
    if journal.journal_length(writer.pool) > writer.journal_bytes:
        journal.take_back(writer.pool, writer.journal_bytes)
        archive.remove(writer.laid)
        discard_store(writer.pool)

"""A backup is one file with the truth in it: journal, archive, settings, reports, receipts, inbox, the desk. The store is
left out; restoring makes it again."""

from __future__ import annotations

import os
import shutil
import tarfile
from collections.abc import Callable, Sequence
from pathlib import Path

from pipeline.atomic_write import flush_folder
from pipeline.errors import DrainpoolError
from pipeline.load.keeping.opening import is_pool, read_journal, worded_failures
from pipeline.load.keeping.rebuilding import Rebuilt, rebuild
from pipeline.load.keeping.verifying import journal_findings, truth_findings
from pipeline.load.truth.journal import JOURNAL, Line
from pipeline.load.truth.lock import one_writer
from pipeline.load.truth.records import Recheck

KEPT = (JOURNAL, "archive", "settings.toml", "reports", "receipts", "inbox", "desk")


def backup(pool: Path, file: Path, *, say: Callable[[str], None], wait_s: float = 600.0) -> int:
    """Writes the pool's backup to `file`, whole or not at all; answers its size in bytes.

    Waits for a writer to finish, so that journal and archive fit each other. Raises DrainpoolError for a folder
    that is no pool, a file that is there already, and a damaged journal or archive."""
    if not is_pool(pool):
        raise DrainpoolError(f"{pool} holds no pool. Check the folder's name.")
    if file.exists():
        raise DrainpoolError(f"{file} is there already. Nothing was written. Name another file.")
    if not file.parent.is_dir():
        raise DrainpoolError(
            f"There is no folder {file.parent}. Nothing was written. Make it, or name another."
        )
    temporary = file.with_name(f".{file.name}.new")
    with worded_failures(pool), one_writer(pool, say, wait_s):
        _refuse_damaged(pool, read_journal(pool, say))
        try:
            with tarfile.open(temporary, "w") as bundle:
                for name in KEPT:
                    if (pool / name).exists():
                        bundle.add(pool / name, arcname=name)
            with temporary.open("rb+") as written:
                os.fsync(written.fileno())
            temporary.replace(file)
            flush_folder(file.parent)
        finally:
            temporary.unlink(missing_ok=True)
    return file.stat().st_size


def _refuse_damaged(pool: Path, lines: Sequence[Line]) -> None:
    damaged = truth_findings(pool, lines)
    if damaged:
        raise DrainpoolError(
            f"{pool} is damaged: {damaged[0].where}: {damaged[0].words}"
            f"{f' (and {len(damaged) - 1} more)' if len(damaged) > 1 else ''}. Nothing was written: a backup of it could not be "
            f"restored. See all of it with: drainpool verify --pool {pool}. Keep the newest backup that you have."
        )


def restore_backup(file: Path, pool: Path, *, recheck: Recheck, say: Callable[[str], None]) -> Rebuilt:
    """Makes the pool of a backup in a missing or empty folder, store and readers' copy included.

    All of it or nothing: it is unpacked beside the folder, looked through and put in place whole. Raises DrainpoolError
    where the file is no backup, or damaged, or the folder is not empty."""
    if pool.exists() and (not pool.is_dir() or any(pool.iterdir())):
        raise DrainpoolError(
            f"{pool} is not an empty folder. Nothing was restored. Name a new folder with --pool."
        )
    if not file.exists():
        raise DrainpoolError(f"There is no file {file}. Nothing was restored. Check the name and the folder.")
    beside = pool.absolute().with_name(f".{pool.absolute().name}.restoring")
    with worded_failures(pool):
        shutil.rmtree(beside, ignore_errors=True)
        try:
            _unpack(file, beside)
            _refuse_unsound(file, beside, say)
            rebuilt = rebuild(beside, recheck=recheck, say=say)
            if pool.exists():
                pool.rmdir()
            beside.rename(pool)
        finally:
            shutil.rmtree(beside, ignore_errors=True)
    return rebuilt


def _unpack(file: Path, into: Path) -> None:
    try:
        with tarfile.open(file, "r:") as bundle:
            names = bundle.getnames()
            if JOURNAL not in names or {name.split("/")[0] for name in names} - set(KEPT):
                raise DrainpoolError(f"{file} is no backup of a pool. Nothing was restored.")
            into.mkdir(parents=True)
            bundle.extractall(into, filter="data")
    except (tarfile.TarError, EOFError):
        raise DrainpoolError(
            f"{file} can't be read as a backup: it is another kind of file, or damaged. Nothing was restored."
        ) from None


def _refuse_unsound(file: Path, unpacked: Path, say: Callable[[str], None]) -> None:
    """A backup whose truth does not agree with itself is not restored at all."""
    findings = journal_findings(unpacked)
    findings = findings or truth_findings(unpacked, read_journal(unpacked, say))
    if findings:
        raise DrainpoolError(
            f"{file} is damaged: {findings[0].where}: {findings[0].words}. Nothing was restored. Take an older backup."
        )

"""The archive: the bytes of every received file under their own SHA-256, `archive/ab/abcd….csv` or `.xlsx`, and the
rows of every load as they were read, `archive/ab/abcd….rows.parquet`."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from pipeline.atomic_write import flush_folder, write_whole

ARCHIVE = "archive"
FLUSHES_AT_ONCE = 16


def submission_of(content: bytes) -> str:
    """The name of a file's content everywhere: SHA-256, hex."""
    return hashlib.sha256(content).hexdigest()


def ending_of(content: bytes) -> str:
    """`.xlsx` for what begins as a zip does, else `.csv`."""
    return ".xlsx" if content.startswith(b"PK\x03\x04") else ".csv"


def place(pool: Path, submission: str, ending: str) -> Path:
    """Where the bytes of a submission lie."""
    return pool / ARCHIVE / submission[:2] / f"{submission}{ending}"


def put(pool: Path, files: Iterable[tuple[bytes, str]]) -> list[Path]:
    """Lays files, each its bytes and ending, into the archive, each whole or not at all, flushed to disk.
    Answers the paths that were not there before. On failure those are removed, and the OSError goes on."""
    missing = {
        target: content
        for content, ending in files
        if not _holds(target := place(pool, submission_of(content), ending), content)
    }
    folders = sorted({target.parent for target in missing})
    for folder in folders:
        folder.mkdir(parents=True, exist_ok=True)
    try:
        # flushing many small files one behind the other is mostly waiting
        with ThreadPoolExecutor(FLUSHES_AT_ONCE) as flushing:
            list(flushing.map(_put_one, missing.keys(), missing.values()))
            list(flushing.map(flush_folder, folders))
        if missing:
            flush_folder(pool / ARCHIVE)
    except OSError:
        remove(missing)
        raise
    return list(missing)


def _holds(target: Path, content: bytes) -> bool:
    return target.exists() and target.stat().st_size == len(content)


def _put_one(target: Path, content: bytes) -> None:
    write_whole(target, content, lasting=False)


def remove(paths: Iterable[Path]) -> None:
    """Takes files out of the archive, where they are there."""
    for path in paths:
        path.unlink(missing_ok=True)


def walk(pool: Path) -> Iterator[Path]:
    """Every file in the archive, in order of name."""
    yield from sorted(path for path in (pool / ARCHIVE).glob("*/*") if path.is_file())

"""Writing a file whole or not at all: beside it, flushed to disk, then put in its place."""

from __future__ import annotations

import os
from pathlib import Path

OWNER_ONLY, EVERYBODY_READS = 0o600, 0o644


def write_whole(path: Path, content: bytes, mode: int = EVERYBODY_READS, lasting: bool = True) -> None:
    """Puts the content into a file: whoever reads it meets the old or the new content, also after a crash. Where it
    fails, the old file stands and nothing else is left. `lasting` False leaves it to the caller to flush the folder,
    which many files may share."""
    new = path.with_name(f".{path.name}.new")
    try:
        handle = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        new.replace(path)
    except OSError:
        new.unlink(missing_ok=True)
        raise
    if lasting:
        flush_folder(path.parent)


def flush_folder(folder: Path) -> None:
    """Makes the names in a folder as lasting as the files behind them."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)

"""The folder of one month's report: made aside, then put in place whole, so that a crash leaves the old one.

Only a holder of the pool's lock may call this: two at once would clear each other's new folder away."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

REPORTS = "reports"
RESULTS = "results.json"


def month_folder(pool: Path, month: str) -> Path:
    """Where the pages of a month stand."""
    return pool / REPORTS / month


def edition_folder(number: int | str) -> str:
    """The folder of an older edition inside its month's folder."""
    return f"edition-{number}"


@contextmanager
def replaced_whole(folder: Path) -> Iterator[Path]:
    """An empty folder beside `folder` to write into; it takes the place of `folder` when all went well.
    Where anything goes wrong, `folder` is as it was."""
    new, old = folder.with_name(f".{folder.name}.new"), folder.with_name(f".{folder.name}.old")
    folder.parent.mkdir(parents=True, exist_ok=True)
    put_back(folder)
    new.mkdir()
    try:
        yield new
        if folder.exists():
            folder.rename(old)
        new.rename(folder)
    finally:
        put_back(folder)


def put_back(folder: Path) -> None:
    """Clears away what a run that was cut short left beside `folder`; the last whole set stays."""
    new, old = folder.with_name(f".{folder.name}.new"), folder.with_name(f".{folder.name}.old")
    if old.exists() and not folder.exists():
        old.rename(folder)
    shutil.rmtree(old, ignore_errors=True)
    shutil.rmtree(new, ignore_errors=True)

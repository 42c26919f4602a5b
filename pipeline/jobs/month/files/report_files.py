"""A report's files put in place: a month's pages, the index over months, the mark on an older edition.

Each file is written beside its place and renamed into it, so that a reader never meets half a page.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from pipeline.atomic_write import write_whole
from reports.pages.months import MonthEntry
from reports.publish import index_files, moved_down, published, superseded


def write_files(folder: Path, files: Iterable[tuple[str, bytes]]) -> list[Path]:
    """Writes an edition's files into `folder`; returns what was written."""
    folder.mkdir(parents=True, exist_ok=True)
    return _put_all(folder, files)


def write_months(entries: Sequence[MonthEntry], folder: Path) -> Path:
    """Writes the index over months and its feed into `folder`, beside the months' own; returns the page."""
    return _put_all(folder, index_files(entries))[-1]


def mark_superseded(folder: Path, newer_edition: int) -> None:
    """Every page in `folder` (an older edition, moved away) says that a newer edition stands above it."""
    for path in sorted(folder.rglob("*.html")):
        depth = len(path.relative_to(folder).parts) - 1
        _put(path, superseded(path.read_text(encoding="utf-8"), depth, newer_edition).encode())


def move_links_down(folder: Path) -> None:
    """Leads the links of an edition's pages to other editions and other months on, from its own folder `edition-N`."""
    for path in sorted(folder.rglob("*.html")):
        depth = len(path.relative_to(folder).parts) - 1
        _put(path, moved_down(path.read_text(encoding="utf-8"), depth).encode())


def mark_published(folder: Path, beside: Sequence[str]) -> None:
    """Takes the marks of a draft off every page in `folder`; folders that match `beside` hold other editions."""
    others = [other for pattern in beside for other in folder.glob(pattern)]
    for path in sorted(folder.rglob("*.html")):
        if not any(other in path.parents for other in others):
            _put(path, published(path.read_text(encoding="utf-8")).encode())


def _put_all(folder: Path, files: Iterable[tuple[str, bytes]]) -> list[Path]:
    return [_put(folder / name, content) for name, content in files]


def _put(path: Path, content: bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, content, lasting=False)
    return path

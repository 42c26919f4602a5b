"""A report's files put in place: a month's pages, the index over months, the mark on an older edition.

Each file is written beside its place and renamed into it, so that a reader never meets half a page.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from pipeline.atomic_write import write_whole
from reports.page import Page
from reports.pages.months import MonthEntry
from reports.publish import PAGE_PATTERNS, index_files, page_files, superseded


def write_pages(pages: Sequence[Page], folder: Path) -> list[Path]:
    """Writes all pages, their downloads and the shared files into `folder`, and takes away pages of an earlier run
    that are no longer made (of a grower who left, say). Returns what was written."""
    written = _put_all(folder, page_files(pages))
    for pattern in PAGE_PATTERNS:
        for path in set(folder.glob(pattern)) - set(written):
            path.unlink()
    return written


def write_months(entries: Sequence[MonthEntry], folder: Path) -> Path:
    """Writes the index over months and its feed into `folder`, beside the months' own; returns the page."""
    return _put_all(folder, index_files(entries))[-1]


def mark_superseded(folder: Path, newer_edition: int) -> None:
    """Every page in `folder` (an older edition, moved away) says that a newer edition stands above it."""
    for path in sorted(folder.rglob("*.html")):
        depth = len(path.relative_to(folder).parts) - 1
        _put(path, superseded(path.read_text(encoding="utf-8"), depth, newer_edition).encode())


def _put_all(folder: Path, files: Iterable[tuple[str, bytes]]) -> list[Path]:
    return [_put(folder / name, content) for name, content in files]


def _put(path: Path, content: bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, content, lasting=False)
    return path

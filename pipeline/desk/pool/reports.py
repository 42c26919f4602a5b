"""The report pages of the months, as the desk shows them: the last published edition to everybody, drafts to members."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from pipeline.jobs.month.files.folder import REPORTS, edition_folder
from pipeline.jobs.pool_view import EditionsShown, editions_shown

MONTH = re.compile(r"[0-9]{4}-[0-9]{2}\Z")
PLAIN_PART = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9._-]*\Z")
FEED = "feed.xml"
"""Published months only, so everybody may read it."""
EDITION = re.compile(r"edition-([0-9]+)\Z")


@dataclass(frozen=True)
class ShownMonth:
    """A month with a report. `published`: everybody may read an edition of it. `draft`: the edition that still waits to
    be published; None where none does."""

    month: str
    published: bool
    draft: int | None = None


class ReportFolders:
    """The report folders of one pool."""

    def __init__(self, pool: Path) -> None:
        self._pool = pool

    def months(self) -> list[ShownMonth]:
        """Every month that has a report, newest first."""
        folder = self._pool / REPORTS
        if not folder.is_dir():
            return []
        names = sorted((path.name for path in folder.iterdir() if MONTH.match(path.name)), reverse=True)
        return [self._shown(name) for name in names if (folder / name / "index.html").is_file()]

    def _shown(self, month: str) -> ShownMonth:
        shown = editions_shown(self._pool, month)
        draft = shown.newest if shown.newest not in shown.published else None
        return ShownMonth(month, bool(shown.published), draft)

    def for_readers(self, typed: str) -> str | None:
        """Where an address below `reports/` leads somebody who may not see drafts: a month's own address to its last
        published edition, where a draft stands above it; the feed, which names no draft, to itself. None where it names
        what is not published."""
        if typed == FEED:
            return typed
        month, _, rest = typed.partition("/")
        shown = editions_shown(self._pool, month) if MONTH.match(month) else EditionsShown(None, frozenset())
        if not shown.published:
            return None
        named = EDITION.match(rest.partition("/")[0])
        if named is not None:
            return typed if int(named[1]) in shown.published else None
        newest = max(shown.published)
        return typed if newest == shown.newest else f"{month}/{edition_folder(newest)}/{rest}"

    def file(self, typed: str) -> Path | None:
        """The file of a report that an address names; None where it names none, or anything outside."""
        parts = typed.split("/")
        if parts[-1] == "":
            parts[-1] = "index.html"
        if parts == [FEED]:
            feed = self._pool / REPORTS / FEED
            return feed if feed.is_file() else None
        if not MONTH.match(parts[0]) or not all(PLAIN_PART.match(part) for part in parts):
            return None
        path = self._pool.joinpath(REPORTS, *parts)
        inside = (self._pool / REPORTS).resolve()
        return path if path.is_file() and path.resolve().is_relative_to(inside) else None

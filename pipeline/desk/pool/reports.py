"""The report pages of the months, as the desk shows them: published ones to everybody, drafts to members."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from pipeline.jobs.month.folder import REPORTS
from pipeline.jobs.pool_view import is_published

MONTH = re.compile(r"[0-9]{4}-[0-9]{2}\Z")
PLAIN_PART = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9._-]*\Z")


@dataclass(frozen=True)
class ShownMonth:
    """A month with a report. `published`: its newest edition is."""

    month: str
    published: bool


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
        return [
            ShownMonth(name, self.published(name))
            for name in names
            if (folder / name / "index.html").is_file()
        ]

    def published(self, month: str) -> bool:
        """Whether everybody may read this month: its newest edition is published."""
        return is_published(self._pool, month)

    def file(self, typed: str) -> Path | None:
        """The file of a report that an address names; None where it names none, or anything outside."""
        parts = typed.split("/")
        if parts[-1] == "":
            parts[-1] = "index.html"
        if not MONTH.match(parts[0]) or not all(PLAIN_PART.match(part) for part in parts):
            return None
        path = self._pool.joinpath(REPORTS, *parts)
        inside = (self._pool / REPORTS).resolve()
        return path if path.is_file() and path.resolve().is_relative_to(inside) else None

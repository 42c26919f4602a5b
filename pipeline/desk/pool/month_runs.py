"""Runs of the month, started from the coordinator's room: each in a process of its own, its words in a log file.

The process is the same command that a coordinator types, so that a run can't bring the desk down, and the desk
can be stopped without stopping a run.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from threading import Lock, Thread

ENDED = "— ended with exit code"
NAME = re.compile(r"[0-9]{8}T[0-9]{6}-[0-9]{4}-[0-9]{2}\Z")
MOST_LINES = 400


@dataclass(frozen=True)
class MonthRun:
    """One run: its name, the month, what it has said so far, and its exit code once it has ended."""

    name: str
    month: str
    lines: tuple[str, ...]
    exit_code: int | None


class MonthRuns:
    """The runs of one pool; one at a time."""

    def __init__(self, pool: Path, folder: Path) -> None:
        self._pool, self._folder = pool, folder / "runs"
        self._turn = Lock()
        self._running: str | None = None

    def start(self, month: str, by: str, at: datetime, more: Sequence[str] = ()) -> str | None:
        """Starts a run and answers its name; None while another one runs."""
        with self._turn:
            if self._running is not None:
                return None
            self._running = f"{at:%Y%m%dT%H%M%S}-{month}"
        self._folder.mkdir(parents=True, exist_ok=True)
        words = [
            sys.executable,
            "-P",
            "-m",
            "pipeline.cli",
            "month",
            month,
            "--pool",
            str(self._pool),
            "--by-whom",
            by,
            *more,
        ]
        Thread(target=self._follow, args=(self._running, words), name="month run", daemon=True).start()
        return self._running

    def _follow(self, name: str, words: Sequence[str]) -> None:
        try:
            with (self._folder / f"{name}.log").open("w", encoding="utf-8") as log:
                done = subprocess.run(  # noqa: S603 - our own command, its words checked
                    words,
                    stdout=log,
                    stderr=subprocess.STDOUT,
                    stdin=subprocess.DEVNULL,
                    check=False,
                    start_new_session=True,
                )
                log.write(f"{ENDED} {done.returncode}\n")
        finally:
            with self._turn:
                self._running = None

    @property
    def running(self) -> str | None:
        """The name of the run under way."""
        return self._running

    def look(self, name: str) -> MonthRun | None:
        """A run by its name; None where there was none."""
        if not NAME.match(name):
            return None
        path = self._folder / f"{name}.log"
        if not path.exists():
            return MonthRun(name, name[16:], (), None) if name == self._running else None
        lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
        exit_code = None
        if lines and lines[-1].startswith(ENDED):
            exit_code = int(lines.pop().removeprefix(ENDED))
        elif name != self._running:
            exit_code = 3  # the desk was stopped under it, or it never ended
        return MonthRun(name, name[16:], tuple(lines[-MOST_LINES:]), exit_code)

    def names(self) -> list[str]:
        """Names of all runs, newest first."""
        if not self._folder.is_dir():
            return []
        return sorted((path.stem for path in self._folder.glob("*.log")), reverse=True)

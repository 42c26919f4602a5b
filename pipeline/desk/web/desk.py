"""What every page of the desk uses: the pool, its accounts, the clock, the log, the limits."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from starlette.requests import Request

from pipeline.desk.accounts.book import AccountsFile
from pipeline.desk.pool.month_runs import MonthRuns
from pipeline.desk.pool.reader import PoolReader
from pipeline.desk.pool.reports import ReportFolders
from pipeline.desk.sheets.checker import Checker
from pipeline.desk.sheets.receipts import KeptSheets
from pipeline.desk.web.limits import Limits
from schemas.trade.moments import moment_text

FOLDER = "desk"
"""The desk's own folder inside the pool's: accounts, checks that wait to be sent, receipts, logs of months run."""


@dataclass
class Desk:
    """The desk of one pool. `clock` gives the present moment (UTC); `say` takes a line for the log;
    `token` makes random tokens of a length."""

    pool: Path
    accounts: AccountsFile
    kept_sheets: KeptSheets
    checker: Checker
    reader: PoolReader
    reports: ReportFolders
    months: MonthRuns
    clock: Callable[[], datetime]
    say: Callable[[str], None]
    token: Callable[[int], str]
    limits: Limits = field(default_factory=Limits)
    being_sent: set[str] = field(default_factory=set)
    one_big_sheet: asyncio.Semaphore = field(default_factory=lambda: asyncio.Semaphore(1))
    one_query: asyncio.Semaphore = field(default_factory=lambda: asyncio.Semaphore(1))
    queries_waiting: int = 0

    def log(self, request: Request, what: str) -> None:
        """One line of the log: when, from where, what. Never a passphrase, a cookie or a link's token."""
        where = request.client.host if request.client else "unknown"
        plain = "".join(character if character.isprintable() else "�" for character in what)
        self.say(f"{moment_text(self.clock())} {where} {plain}")


def desk_of(request: Request) -> Desk:
    """The desk that serves this request."""
    desk: Desk = request.app.state.desk
    return desk

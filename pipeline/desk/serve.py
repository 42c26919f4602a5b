"""Opening the desk: its folder, the first coordinator's link, the server. The one room of the desk with a network."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from threading import Thread

import uvicorn

from pipeline.desk.accounts.book import AccountsFile
from pipeline.desk.accounts.tokens import random_token
from pipeline.desk.pool.month_runs import MonthRuns
from pipeline.desk.pool.reader import PoolReader
from pipeline.desk.pool.reports import ReportFolders
from pipeline.desk.sheets.checker import Checker, check_with
from pipeline.desk.sheets.receipts import KeptSheets
from pipeline.desk.steps import application
from pipeline.desk.web.desk import FOLDER, Desk
from pipeline.errors import DrainpoolError
from pipeline.jobs.pool_view import foreign_file

FIRST_CODE = "coordinator"


@dataclass(frozen=True)
class Place:
    """Where the desk is opened. `behind`: address of the proxy whose word on where a request comes from is
    taken; None: nobody's."""

    host: str
    port: int
    behind: str | None = None


def open_desk(pool: Path, say: Callable[[str], None]) -> Desk:
    """The desk of a pool, its folder made where it is missing. DrainpoolError where that can't be."""
    if pool.exists() and not pool.is_dir():
        raise DrainpoolError(
            f"{pool} is a file, not a folder. Nothing was changed. Name a folder with --pool."
        )
    foreign = foreign_file(pool)
    if foreign is not None:
        raise DrainpoolError(
            f"{pool} is not empty and is no pool (it holds {foreign}). Nothing was changed. "
            "Name a pool, or a new or empty folder, with --pool."
        )
    folder = pool / FOLDER
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DrainpoolError(f"{folder} can't be made ({error.strerror}). Nothing was changed.") from error
    reader = PoolReader(pool)
    return Desk(
        pool=pool,
        accounts=AccountsFile(folder, random_token),
        kept_sheets=KeptSheets(folder, random_token),
        checker=Checker(check_with(pool, reader.other_growers), present),
        reader=reader,
        reports=ReportFolders(pool),
        months=MonthRuns(pool, folder),
        clock=present,
        say=say,
        token=random_token,
    )


def present() -> datetime:
    """The present moment, UTC, with its fraction of a second: the inbox keeps the order of what comes in."""
    return datetime.now(UTC)


def first_link(desk: Desk, place: Place) -> str | None:
    """The one-time link for the first coordinator; None once there is one. An earlier link ends."""
    if desk.accounts.read().has_coordinator:
        return None
    invitation = desk.accounts.invite(FIRST_CODE, "coordinator", "the desk itself", desk.clock())
    return f"http://{address(place)}/invitation/{invitation}"


def address(place: Place) -> str:
    """Host and port as an address has them."""
    host = f"[{place.host}]" if ":" in place.host else place.host
    return f"{host}:{place.port}"


def serve(desk: Desk, place: Place) -> None:
    """Serves until it is stopped. Forwarded headers count only from the proxy named in `place`."""
    desk.accounts.read()
    Thread(target=desk.checker.warm, name="warm", daemon=True).start()
    uvicorn.run(
        application(desk),
        host=place.host,
        port=place.port,
        workers=1,
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=True,
        proxy_headers=place.behind is not None,
        forwarded_allow_ips=place.behind or "",
        timeout_keep_alive=15,
        limit_concurrency=400,
        h11_max_incomplete_event_size=32 * 1024,
    )

"""The demo: a pool made from the invented samples, sheet by sheet in the months in which they were sent."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from pipeline.errors import DrainpoolError
from pipeline.jobs.receiving.checking import SETTINGS_FILE
from pipeline.jobs.receiving.sheets import INBOX, moment_file
from pipeline.jobs.receiving.steps import pool_writer
from pipeline.jobs.samples import demo_sheets
from pipeline.load.changes.editions import editions, is_invented
from pipeline.load.keeping.opening import is_pool
from pipeline.load.truth.moments import month_end
from schemas.trade.moments import moment_text

POOL_NAME = "The invented federation"
FIRST_MOMENT = timedelta(days=25, hours=9)
BETWEEN_SHEETS = timedelta(hours=3, minutes=7)


def make_demo_pool(pool: Path, by_whom: str, say: Callable[[str], None]) -> None:
    """An empty pool marked as invented; a demo's own pool is left as it is, any other folder is refused."""
    if is_pool(pool) and not is_invented(pool):
        raise DrainpoolError(
            f"{pool} holds a pool of your own. Nothing was changed. The demo needs a folder of its own: "
            "drainpool demo --pool another-folder"
        )
    if not is_pool(pool):
        if not pool.exists() or not any(pool.iterdir()):
            pool.mkdir(parents=True, exist_ok=True)
            (pool / SETTINGS_FILE).write_text(f'pool_name = "{POOL_NAME}"\n', encoding="utf-8")
        with pool_writer(pool, by_whom, say, invented=True):
            pass


def put_samples_in_inbox(pool: Path, month: str) -> int:
    """Lays the month's sample sheets into the inbox, each with its moment beside it as the desk would write
    it; none where the month's report has been made before. Answers how many."""
    if editions(pool, month):
        return 0
    inbox = pool / INBOX
    inbox.mkdir(exist_ok=True)
    sheets = demo_sheets(month)
    for place, (name, content) in enumerate(sheets):
        (inbox / name).write_bytes(content)
        moment_file(inbox / name).write_text(
            moment_text(moment_of_sheet(month, place)) + "\n", encoding="utf-8"
        )
    return len(sheets)


def moment_of_sheet(month: str, place: int) -> datetime:
    """When the sheet at this place (from 0) of the month's list came in; never after the month."""
    end = month_end(month)
    return min(end.replace(day=1, hour=0, minute=0, second=0) + FIRST_MOMENT + place * BETWEEN_SHEETS, end)

"""What goes with a finished month: the index over all months with its feed, and a ready mail to each contributor."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

from pipeline.atomic_write import write_whole
from pipeline.jobs.month.folder import REPORTS, RESULTS
from pipeline.jobs.month.report_files import write_months
from pipeline.load.changes.editions import editions
from reports.mail import mail_texts
from reports.pages.months import MonthEntry
from reports.view import MonthView

MAILS = "mails"


def month_entries(pool: Path) -> list[MonthEntry]:
    """Every month of the pool that has been made, oldest first, and whether it is still a draft."""
    entries = []
    for path in sorted((pool / REPORTS).glob(f"????-??/{RESULTS}")):
        results = json.loads(path.read_text(encoding="utf-8"))
        published = {one.number: one.published for one in editions(pool, path.parent.name)}
        draft = not results["open"] and not published.get(results["edition"], False)
        entries.append(MonthEntry(results, draft))
    return entries


def write_index(pool: Path) -> Path:
    """Writes the index over months and the feed; answers the page."""
    return write_months(month_entries(pool), pool / REPORTS)


def write_mails(pool: Path, view: MonthView) -> Path:
    """Writes the month's mails, one file per contributor, in place of those of an earlier run; answers the folder.
    They stand outside `reports/`, which goes on the web as a whole."""
    folder = pool / MAILS / view.month
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for member, text in mail_texts(view).items():
        write_whole(folder / f"{member}.txt", text.encode(), lasting=False)
    return folder

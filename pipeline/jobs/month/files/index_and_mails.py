"""What goes with a finished month: the index over all months with its feed, and a ready mail to each contributor.

Both are written by a holder of the pool's lock."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from pipeline.atomic_write import write_whole
from pipeline.jobs.month.files.folder import REPORTS, RESULTS, month_folder, replaced_whole
from pipeline.jobs.month.files.older import pages_of
from pipeline.jobs.month.files.report_files import write_months
from pipeline.load.changes.editions import editions_in, shown_edition
from pipeline.load.truth.journal import Line
from reports.mail import published_mail
from reports.pages.months import MonthEntry
from schemas.results.whole import ResultsValue

MAILS = "mails"


def months_made(pool: Path) -> list[str]:
    """Every month that has a report, oldest first."""
    return sorted(path.parent.name for path in (pool / REPORTS).glob(f"????-??/{RESULTS}"))


def shown_results(pool: Path, lines: Sequence[Line], month: str) -> tuple[ResultsValue, str]:
    """`results.json` of the edition of a month that readers see, and its folder below `reports/`: the last published
    one, or the newest where none was published or its pages are gone."""
    folder = month_folder(pool, month)
    shown = shown_edition(editions_in(lines, month))
    place = pages_of(folder, shown.number) if shown is not None else None
    place = place or folder
    value: ResultsValue = json.loads((place / RESULTS).read_text(encoding="utf-8"))
    return value, place.relative_to(pool / REPORTS).as_posix()


def month_entries(pool: Path, lines: Sequence[Line]) -> list[MonthEntry]:
    """Every month of the pool that has been made, oldest first, as its readers see it."""
    entries = []
    for month in months_made(pool):
        results, place = shown_results(pool, lines, month)
        published = {one.number: one.published for one in editions_in(lines, month)}
        draft = not results["open"] and not published.get(results["edition"], False)
        entries.append(MonthEntry(results, draft, place))
    return entries


def earlier_results(pool: Path, lines: Sequence[Line], month: str) -> tuple[ResultsValue, ...]:
    """`results.json` of every earlier month of the pool that has been made, oldest first, as readers see it."""
    return tuple(shown_results(pool, lines, one)[0] for one in months_made(pool) if one < month)


def write_index(pool: Path, lines: Sequence[Line]) -> Path:
    """Writes the index over months and the feed; answers the page."""
    return write_months(month_entries(pool, lines), pool / REPORTS)


def write_mails(pool: Path, month: str, mails: Mapping[str, str]) -> None:
    """Writes the month's mails, one file per contributor, in place of those of an earlier run.
    They stand outside `reports/`, which goes on the web as a whole."""
    with replaced_whole(pool / MAILS / month) as new:
        for member, text in mails.items():
            write_whole(new / f"{member}.txt", text.encode(), lasting=False)


def publish_mails(pool: Path, month: str) -> None:
    """Takes the words of a draft out of the month's mails."""
    folder = pool / MAILS / month
    if folder.is_dir():
        texts = {path.stem: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.txt"))}
        write_mails(pool, month, {member: published_mail(text) for member, text in texts.items()})

"""A month's report put in place: which edition, its pages and files, the older editions beside them."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from pipeline.atomic_write import write_whole
from pipeline.jobs.month.figures import Figures, figures
from pipeline.jobs.month.folder import REPORTS, RESULTS, edition_folder, month_folder, replaced_whole
from pipeline.jobs.month.index_and_mails import write_index, write_mails
from pipeline.jobs.month.report_files import mark_superseded, write_pages
from pipeline.jobs.month.results_file import as_bytes
from pipeline.jobs.month.shown import MonthFrames, shown
from pipeline.jobs.receiving.steps import pool_writer
from pipeline.load.changes.editions import begin_edition, editions, erased_runs, publish_edition
from pipeline.load.database import store
from pipeline.load.truth.records import Edition
from reports.steps import month_pages
from reports.view import Correction, MonthView
from schemas.results.whole import ResultsValue

INDEX = "index.html"


@dataclass(frozen=True)
class MonthOrder:
    """What the coordinator asked for: `drainpool month` in one value."""

    pool: Path
    month: str
    by_whom: str
    correct: bool = False
    reason: str | None = None
    publish: bool = False


def open_pool(order: MonthOrder, say: Callable[[str], None]) -> None:
    """Makes the pool where the folder is missing or empty, and writes changed settings down; refuses a folder
    that is something else, before anything is put into it."""
    with pool_writer(order.pool, order.by_whom, say):
        pass


def standing_edition(order: MonthOrder) -> Edition | None:
    """The month's newest edition where an older drainpool published it and no correction is asked for: it stands as
    it is. None where the month is to be made; so it is too where rows were erased since."""
    made = [] if order.correct else editions(order.pool, order.month)
    if not made or not made[-1].stands:
        return None
    with store.reading(order.pool) as connection:
        erased = erased_runs(store.lines_of(connection), order.month)
    return made[-1] if erased == made[-1].erased else None


def next_edition(order: MonthOrder, say: Callable[[str], None]) -> Edition:
    """The edition to make: the newest again, or with `correct` one more; written in the journal."""
    with pool_writer(order.pool, order.by_whom, say) as writer:
        edition = begin_edition(writer, order.month, correct=order.correct, reason=order.reason)
        if order.publish and not edition.published:
            edition = publish_edition(writer, order.month)
    return edition


def write_month(pool: Path, made: Figures) -> Path:
    """Writes the month's folder whole, older editions inside it marked superseded, then the index over months
    and the mails to contributors; answers the page to open."""
    folder = month_folder(pool, made.edition.month)
    with replaced_whole(folder) as new:
        view = view_of(pool, made, _keep_older_editions(pool, made.edition, folder, new))
        _write_edition(new, made, view)
    write_index(pool)
    write_mails(pool, view)
    return folder / INDEX


def view_of(pool: Path, made: Figures, correction: Correction | None = None) -> MonthView:
    """The figures as the pages take them."""
    return MonthView(
        results=made.results,
        effects=made.effects,
        members=made.members,
        runs=made.runs,
        held_by_rule=made.held_by_rule,
        received=made.received,
        shown=shown(made.results, MonthFrames(made.effects, made.members, made.runs, made.pooled)),
        set_aside=made.set_aside,
        earlier=earlier_results(pool, made.edition.month),
        draft=not made.edition.open and not made.edition.published,
        correction=correction,
    )


def earlier_results(pool: Path, month: str) -> tuple[ResultsValue, ...]:
    """`results.json` of every earlier month of the pool that has been made, oldest first."""
    found = sorted((pool / REPORTS).glob(f"????-??/{RESULTS}"))
    return tuple(json.loads(path.read_text(encoding="utf-8")) for path in found if path.parent.name < month)


def _keep_older_editions(pool: Path, edition: Edition, folder: Path, new: Path) -> Correction | None:
    """Puts every older edition into its own folder, marked superseded; answers what the newest corrects: the last
    edition that readers saw, or the first where none was published."""
    correction = None
    reasons: list[str] = []
    for older, newer in pairwise(
        one for one in editions(pool, edition.month) if one.number <= edition.number
    ):
        inside = new / edition_folder(older.number)
        _older_edition(pool, older, folder, inside, correction)
        before = json.loads((inside / RESULTS).read_text(encoding="utf-8"))
        if correction is None or older.published:
            reasons = []
        else:
            before = correction.before
        reasons.append(as_sentence(newer.reason or ""))
        correction = Correction(f"{newer.as_of:%Y-%m-%d}", " ".join(filter(None, reasons)), before)
    return correction


def as_sentence(reason: str) -> str:
    """A typed reason with a full stop, so that another can follow it."""
    reason = reason.strip()
    return reason if not reason or reason[-1] in ".!?…" else f"{reason}."


def _older_edition(
    pool: Path, older: Edition, folder: Path, inside: Path, correction: Correction | None
) -> None:
    """The pages of an older edition as they stood, moved; made afresh only where they are gone."""
    if (folder / inside.name / RESULTS).exists():
        shutil.copytree(folder / inside.name, inside)
        return
    if edition_in(folder) == older.number:
        shutil.copytree(folder, inside, ignore=shutil.ignore_patterns(edition_folder("*")))
    else:
        made = figures(pool, older)
        _write_edition(inside, made, view_of(pool, made, correction))
    mark_superseded(inside, older.number + 1)


def edition_in(folder: Path) -> int | None:
    """Which edition the month's folder holds; None where it holds none."""
    try:
        return int(json.loads((folder / RESULTS).read_text(encoding="utf-8"))["edition"])
    except (OSError, ValueError, KeyError):
        return None


def _write_edition(folder: Path, made: Figures, view: MonthView) -> None:
    folder.mkdir(exist_ok=True)
    write_pages(month_pages(view), folder)
    write_whole(folder / RESULTS, as_bytes(made.results))
    made.runs.write_csv(folder / "pool.csv", line_terminator="\n")
    made.runs.write_parquet(folder / "pool.parquet", compression="zstd", statistics=False)

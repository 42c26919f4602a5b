"""A month's report: which edition, its files made in memory, and put in place under the pool's lock."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import DrainpoolError
from pipeline.jobs.month.figures import Figures
from pipeline.jobs.month.files.folder import edition_folder, month_folder, replaced_whole
from pipeline.jobs.month.files.index_and_mails import write_index, write_mails
from pipeline.jobs.month.files.making import MonthFiles, month_files
from pipeline.jobs.month.files.older import copied, mark_older, pages_of
from pipeline.jobs.month.files.overtaken import overtaken_by
from pipeline.jobs.month.files.report_files import move_links_down, write_files
from pipeline.jobs.receiving.steps import pool_writer
from pipeline.load.changes.editions import (
    begin_edition,
    drop_edition,
    editions,
    editions_in,
    erased_runs,
    nothing_changed,
)
from pipeline.load.database import store
from pipeline.load.database.writer import Writer
from pipeline.load.keeping.opening import locked_journal
from pipeline.load.truth.records import Edition

INDEX = "index.html"
MOST_STARTS = 10
PATIENT_STARTS = 3
"""So often a running month starts over for any change; from then on only for what takes something out of it."""
Say = Callable[[str], None]


@dataclass(frozen=True)
class MonthOrder:
    """What the coordinator asked for: `drainpool month` in one value."""

    pool: Path
    month: str
    by_whom: str
    correct: bool = False
    reason: str | None = None
    publish: bool = False


def open_pool(order: MonthOrder, say: Say) -> None:
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


def next_edition(order: MonthOrder, say: Say, again: bool = False) -> Edition:
    """The edition to make: the newest again, or with `correct` one more; written in the journal. One that was begun and
    never put in place (its run was cut short, or overtaken) gives its number back first where another is to be begun.
    `again`: the same run starts over; it corrects once."""
    folder = month_folder(order.pool, order.month)
    with pool_writer(order.pool, order.by_whom, say) as writer:
        made = editions_in(writer.lines, order.month)
        unfinished = bool(made) and not made[-1].published and pages_of(folder, made[-1].number) is None
        correct = order.correct and (unfinished or not again)
        if unfinished and _begun_anew(writer, made[-1], correct and len(made) > 1):
            drop_edition(writer, made[-1])
            correct = correct and len(made) > 1
        return begin_edition(writer, order.month, correct=correct, reason=order.reason if correct else None)


def _begun_anew(writer: Writer, unfinished: Edition, correct: bool) -> bool:
    erased = erased_runs(writer.lines, unfinished.month) != unfinished.erased
    return erased or (correct and not nothing_changed(writer, unfinished))


def until_in_place(
    settle: Callable[[bool], Edition],
    compute: Callable[[Edition], Figures],
    put: Callable[[Figures, bool], Path | None],
) -> tuple[Figures, Path]:
    """Settles (told whether for another time), computes and puts an edition in place, and starts over where another
    command has overtaken it. Raises DrainpoolError where that happens too often."""
    for start in range(MOST_STARTS):
        made = compute(settle(start > 0))
        index = put(made, start < PATIENT_STARTS)
        if index is not None:
            return made, index
    raise DrainpoolError(
        f"Other commands changed the pool {MOST_STARTS} times while the month was being computed. Its earlier pages stand "
        "as they were. Run the month again when they have finished."
    )


def write_month(pool: Path, made: Figures, say: Say, patient: bool = True) -> Path | None:
    """Writes the month's folder whole, older editions inside it, then the index over months and the mails to
    contributors; answers the page to open. All under the pool's lock, where the journal is read again: where an
    erasure, a withdrawal or another month has overtaken the figures, nothing is written and the answer is None."""
    files = month_files(pool, made)
    with locked_journal(pool, say) as lines:
        why = overtaken_by(lines, made.edition, made.known, patient)
        if why is not None:
            say(f"While {made.edition.month} was being computed, {why}. It is computed again.")
            return None
        folder = month_folder(pool, made.edition.month)
        with replaced_whole(folder) as new:
            write_files(new, files.pages)
            _keep_older(folder, new, files)
            mark_older(new, editions_in(lines, made.edition.month))
        write_index(pool, lines)
        write_mails(pool, made.edition.month, files.mails)
    return folder / INDEX


def _keep_older(folder: Path, new: Path, files: MonthFiles) -> None:
    for number, afresh in files.older.items():
        inside = new / edition_folder(number)
        if not copied(folder, number, inside):
            write_files(inside, afresh)
            move_links_down(inside)

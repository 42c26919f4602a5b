"""A month's files as bytes: pages, figures, runs and mails of an edition, and of older ones whose pages are gone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from pipeline.jobs.month.figures import Figures, figures
from pipeline.jobs.month.files.folder import RESULTS, month_folder
from pipeline.jobs.month.files.index_and_mails import earlier_results
from pipeline.jobs.month.files.older import correction_of, results_of
from pipeline.jobs.month.results_file import as_bytes
from pipeline.jobs.month.shown import MonthFrames, shown
from pipeline.load.changes.editions import compared_with, editions_in, journal_lines
from pipeline.load.truth.journal import Line
from pipeline.load.truth.records import Edition
from reports.mail import mail_texts
from reports.publish import page_files
from reports.steps import month_pages
from reports.view import MonthView
from schemas.results.whole import ResultsValue

POOL_CSV, POOL_PARQUET = "pool.csv", "pool.parquet"
Files = tuple[tuple[str, bytes], ...]
"""Paths below the edition's folder, each with its bytes."""


@dataclass(frozen=True)
class MonthFiles:
    """Everything that a month leaves. `older`: for each older edition its files, empty where they stand already.
    `mails`: text by member."""

    pages: Files
    mails: Mapping[str, str]
    older: Mapping[int, Files]


def month_files(pool: Path, made: Figures) -> MonthFiles:
    """The files of an edition. Reads the pool's reports and readers' copy; writes nothing."""
    lines = journal_lines(pool)
    folder = month_folder(pool, made.edition.month)
    numbered = [one for one in editions_in(lines, made.edition.month) if one.number <= made.edition.number]
    results: dict[int, ResultsValue] = {}
    older: dict[int, Files] = {}
    for edition in numbered[:-1]:
        kept = results_of(folder, edition.number)
        older[edition.number] = ()
        if kept is None:
            afresh = figures(pool, edition)
            older[edition.number] = edition_files(afresh, _view(pool, lines, afresh, results))
            kept = afresh.results
        results[edition.number] = kept
    view = _view(pool, lines, made, results)
    return MonthFiles(edition_files(made, view), mail_texts(view), older)


def _view(pool: Path, lines: Sequence[Line], made: Figures, older: Mapping[int, ResultsValue]) -> MonthView:
    before = compared_with(lines, made.edition) if older else None
    corrected = older.get(before.number) if before is not None else None
    correction = correction_of(made.edition, corrected, made.changed)
    return MonthView(
        results=made.results,
        effects=made.effects,
        members=made.members,
        runs=made.runs,
        held_by_rule=made.held_by_rule,
        received=made.received,
        shown=shown(made.results, MonthFrames(made.effects, made.members, made.runs, made.pooled)),
        set_aside=made.set_aside,
        earlier=earlier_results(pool, lines, made.edition.month),
        draft=is_draft(made.edition),
        correction=correction,
        changed=made.changed,
    )


def is_draft(edition: Edition) -> bool:
    """Whether the edition waits to be published; a month still running does not."""
    return not edition.open and not edition.published


def edition_files(made: Figures, view: MonthView) -> Files:
    """Pages, `results.json` and the runs of one edition."""
    parquet = BytesIO()
    made.runs.write_parquet(parquet, compression="zstd", statistics=False)
    return (
        *page_files(month_pages(view)),
        (RESULTS, as_bytes(made.results)),
        (POOL_CSV, made.runs.write_csv(line_terminator="\n").encode()),
        (POOL_PARQUET, parquet.getvalue()),
    )

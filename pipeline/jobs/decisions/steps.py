"""Changes of what counts: runs withdrawn, restored, kept, asked about, set aside; each a line in the journal."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import polars as pl

from pipeline.errors import DrainpoolError
from pipeline.jobs.receiving.steps import pool_writer
from pipeline.load.changes.decisions import ask, keep, restore, set_aside, withdraw
from pipeline.load.truth.records import Selection, Taken
from pipeline.load.views.reading import view
from schemas.trade.labels import label_key
from schemas.trade.public_reasons import OTHER

Chosen = tuple[str | None, str | None, str | None]
"""Which runs: member, series, content hash of a sheet."""


def withdraw_runs(pool: Path, chosen: Chosen, reason: str, by_whom: str, say: Callable[[str], None]) -> Taken:
    """Takes the runs of a member, of one series of theirs, or of a sheet out of later months."""
    with pool_writer(pool, by_whom, say, make=False) as writer:
        return withdraw(writer, Selection(*chosen), reason)


def restore_runs(pool: Path, chosen: Chosen, reason: str, by_whom: str, say: Callable[[str], None]) -> Taken:
    """Puts such runs back into later months."""
    with pool_writer(pool, by_whom, say, make=False) as writer:
        return restore(writer, Selection(*chosen), reason)


DECISIONS = {"keep": keep, "ask": ask}


def decide_runs(
    pool: Path,
    decision: str,
    about: tuple[str, str | None, int | None, str | None],
    reason: str,
    by_whom: str,
    say: Callable[[str], None],
    why: str = OTHER,
) -> Taken:
    """Writes down what was decided about the runs of a member, of one series, or of one sheet row of it; `about` is
    member, series, row and the hash of its sheet (or its first 8 or more characters), each but the first may be None. `why`: the public kind of reason for setting aside."""
    member, series, row, submission = about
    chosen = Selection(member, series)
    if row is not None:
        chosen = one_row(pool, member, series or "", row, submission)
    with pool_writer(pool, by_whom, say, make=False) as writer:
        if decision == "aside":
            return set_aside(writer, chosen, reason, why)
        return DECISIONS[decision](writer, chosen, reason)


def one_row(pool: Path, member: str, series: str, row: int, submission: str | None) -> Selection:
    """The run, in force or waiting, that stands in this sheet row of the series, of this sheet where one is named. DrainpoolError
    where none or several do."""
    runs = view(pool).standing.filter(
        pl.col("member_key") == label_key(member),
        pl.col("series_key") == label_key(series),
        pl.col("sheet_row") == row,
        pl.col("submission").str.starts_with((submission or "").lower()),
    )
    if runs.height > 1:
        sheets = ", ".join(sorted(name[:12] for name in runs["submission"]))
        raise DrainpoolError(
            f"{runs.height} sheets have a run of member {member}, series “{series}” in row {row}. Nothing was changed. "
            f"Name the sheet with --submission, one of: {sheets}."
        )
    if runs.is_empty():
        raise DrainpoolError(
            f"No run of member {member}, series “{series}” came from sheet row {row}. Nothing was changed. "
            "Leave --row out to decide about the whole series."
        )
    return Selection(submission=runs["submission"][0], sheet_row=row)

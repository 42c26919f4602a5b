"""The check stage in order: frames in, frames out.

  cells, typed    every data row of every sheet, as typed and as converted by intake
  -> row rules    each row across its columns, every problem in one pass (`rows`, `plausibility`)
  -> series       rows that pass all their own rules, within one sheet: blanks take the series' own value,
                  repeats, what must not change (`series`, `amounts`, `repeats`)
  -> shape        the last gate: pandera over what would be accepted (`shape`)
  -> marks        part_marked, unlike_pour
  -> words        every finding in the catalogue's words (`wording`)

Conservation: the rows of a file are its accepted rows and its held rows, always. Many files are checked at
once, and each as if it had come alone: rules across rows never look from one file into another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.check.amounts import SteadyPot, SteadyPours
from pipeline.check.findings import sheet_rows
from pipeline.check.guarded import Check
from pipeline.check.ledger import Ledger
from pipeline.check.pace import Pace
from pipeline.check.plausibility import plausible_rules
from pipeline.check.repeats import Baseline, Repeats
from pipeline.check.rows import fitting_rules, part_outside_headline
from pipeline.check.series import (
    SteadyWords,
    SteadyWordsByAdvice,
    ZoneTaken,
    first_spelled,
    numbered,
    taking_series_own,
)
from pipeline.check.shape import Shape, as_runs
from pipeline.check.wording import worded
from pipeline.settings import Settings


@dataclass(frozen=True)
class Checked:
    """What became of each file and each row.

    files: file_id, file, submission, rows, accepted, held, readable.
    accepted: file_id and the canonical run frame. held: file_id, sheet_row, level ("advice" where a repeat
    was left out), cells (JSON of the row as typed), reasons (rule ids).
    problems: file_id, file, row, column, value, rule, level, message, fix, in the order a reader wants.
    """

    files: pl.DataFrame
    accepted: pl.DataFrame
    held: pl.DataFrame
    problems: pl.DataFrame


def check_sheets(
    files: pl.DataFrame,
    cells: pl.DataFrame,
    typed: pl.DataFrame,
    problems: pl.DataFrame,
    settings: Settings,
    today: date,
) -> Checked:
    """Checks the sheets that intake has read. `today` is the current day (UTC): no test is later.

    The frames are those of intake's `Sheets`. Nothing is raised for what members wrote; a rule that breaks
    down over a sheet holds that sheet with a finding that says so."""
    ledger = Ledger(problems)
    rows = sheet_rows(files, cells, typed)
    spelled = ledger.work("first spelling of member and series", first_spelled, ledger.readable(rows))
    ledger.ask(row_checks(settings, today), spelled)
    runs = _across_rows(ledger, ledger.left(spelled))
    ledger.ask([Shape()], runs)
    ledger.ask([Baseline(rows)], ledger.left(runs))
    accepted = ledger.left(runs)
    return Checked(
        files=_counted(files, accepted),
        accepted=as_runs(accepted),
        held=ledger.held_rows(rows, accepted, cells),
        problems=worded(ledger.problems, files),
    )


def row_checks(settings: Settings, today: date) -> Sequence[Check]:
    """The rules that each row is asked alone."""
    return (*fitting_rules(today), *plausible_rules(settings))


def series_checks() -> Sequence[Check]:
    """The rules that the rows of a series are asked together, once repeats are left out."""
    return (SteadyWords(), SteadyPot(), SteadyPours(), SteadyWordsByAdvice(), Pace())


def _across_rows(ledger: Ledger, sound: pl.DataFrame) -> pl.DataFrame:
    """The rows that pass the rules across rows, with blanks filled from the series and both marks made."""
    rows = numbered(sound)
    ledger.ask([ZoneTaken()], rows)
    ledger.supersede("zone_from_series")
    rows = ledger.work("values taken from the series", taking_series_own, rows)
    ledger.ask([Repeats()], rows)
    ledger.ask(series_checks(), ledger.without_repeats(rows))
    rows = ledger.left(rows)
    return rows.with_columns(
        part_outside_headline().alias("part_marked"), ledger.spoken_of(rows, "unlike_pour")
    )


def _counted(files: pl.DataFrame, accepted: pl.DataFrame) -> pl.DataFrame:
    """The files with their accepted and held rows; held is what is not accepted of `rows`."""
    counts = accepted.group_by("file_id").agg(accepted=pl.len().cast(pl.Int64))
    return (
        files.join(counts, on="file_id", how="left", maintain_order="left")
        .with_columns(pl.col("rows").cast(pl.Int64), pl.col("accepted").fill_null(0))
        .with_columns(held=pl.col("rows") - pl.col("accepted"))
        .select("file_id", "file", "submission", "rows", "accepted", "held", "readable")
    )

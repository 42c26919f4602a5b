"""The check stage in order: frames in, frames out.

  cells, typed    every data row of every sheet, as typed and as converted by intake
  -> row rules    each row across its columns, every problem in one pass (`rows`, `plausibility`)
  -> series       rows that pass all their own rules, within one sheet: blanks take the series' own value,
                  repeats, what must not change (`series`, `amounts`, `repeats`)
  -> shape        the last gate: pandera over what would be accepted (`shape`)
  -> marks        part_marked, unlike_pour
  -> words        every finding in the catalogue's words (`wording`)
  -> readings     how each column's cells were read (`readings`)

Conservation: the rows of a file are its accepted rows and its held rows, always. Many files are checked at
once, and each as if it had come alone: rules across rows never look from one file into another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial

import polars as pl

from pipeline.check.amounts import SteadyPot, SteadyPours
from pipeline.check.findings import CELL, cell, sheet_rows
from pipeline.check.guarded import Check
from pipeline.check.ledger import Ledger
from pipeline.check.pace import EqualSeries, FarOff
from pipeline.check.plausibility import plausible_rules
from pipeline.check.readings import readings_of
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
from pipeline.check.shape import Shape, as_runs, row_schema
from pipeline.check.wording import worded
from pipeline.settings import Settings
from schemas.kinds.kind import SheetKind

ASKED_ABOUT = ("drain_time", "collected")
CELLS_ASKED: dict[str, pl.DataType] = {
    "file_id": pl.UInt32(),
    "sheet_row": pl.UInt32(),
    **{f"{name}_typed": pl.String() for name in ASKED_ABOUT},
}


@dataclass(frozen=True)
class Checked:
    """What became of each file and each row.

    files: file_id, file, submission, kind (name), rows, accepted, held, readable.
    accepted: file_id and the frame of accepted rows; of files of several kinds, the columns of all of them, and
    `accepted_of` has those of one. held: file_id, sheet_row, level ("advice" where a repeat
    was left out), cells (JSON of the row as typed), reasons (rule ids).
    problems: file_id, file, row, column, value, rule, level, message, fix, in the order a reader wants.
    readings: how the cells of accepted rows were read (`readings.READINGS_SCHEMA`).
    cells_asked: of the accepted rows, the cells as typed that a question may be about (`CELLS_ASKED`).
    """

    files: pl.DataFrame
    accepted: pl.DataFrame
    held: pl.DataFrame
    problems: pl.DataFrame
    readings: pl.DataFrame
    cells_asked: pl.DataFrame

    def accepted_of(self, kind: SheetKind) -> pl.DataFrame:
        """file_id and the accepted rows of sheets of that kind, in its fixed order of columns."""
        mine = self.files.filter(pl.col("kind") == kind.name).select("file_id")
        if not mine.height:
            return pl.DataFrame(schema=row_schema(kind))
        return self.accepted.join(mine, on="file_id", how="semi", maintain_order="left").select(
            *row_schema(kind)
        )


def check_sheets(
    files: pl.DataFrame,
    cells: pl.DataFrame,
    typed: pl.DataFrame,
    problems: pl.DataFrame,
    kind: SheetKind,
    settings: Settings,
    today: date,
) -> Checked:
    """Checks the sheets of one kind that intake has read. `today` is the current day (UTC): no test is later.

    The frames are those of intake's `Sheets`. Nothing is raised for what members wrote; a rule that breaks
    down over a sheet holds that sheet with a finding that says so."""
    ledger = Ledger(problems)
    rows = sheet_rows(files, cells, typed, kind)
    spelled = ledger.work("first spelling of member and series", first_spelled, ledger.readable(rows))
    ledger.ask(row_checks(kind, settings, today), spelled)
    runs = _across_rows(ledger, ledger.left(spelled), kind)
    ledger.ask([Shape(kind)], runs)
    if "no_baseline" in kind.series_rules:
        ledger.ask([Baseline(rows)], ledger.left(runs))
    accepted = ledger.left(runs)
    return Checked(
        files=_counted(files.with_columns(kind=pl.lit(kind.name)), accepted),
        accepted=as_runs(accepted, kind),
        held=ledger.held_rows(rows, accepted, cells),
        problems=worded(ledger.problems, files, kind),
        readings=readings_of(accepted, kind),
        cells_asked=_cells_asked(accepted),
    )


def together(checks: Sequence[Checked]) -> Checked:
    """The checks of the sheets of several kinds as one, by file; each kind's accepted rows lack the others'
    columns."""
    if len(checks) == 1:
        return checks[0]
    files = pl.concat([check.files for check in checks]).sort("file_id")
    problems = pl.concat([check.problems for check in checks]).sort("file_id", maintain_order=True)
    held = pl.concat([check.held for check in checks]).sort("file_id", "sheet_row")
    accepted = pl.concat([check.accepted for check in checks], how="diagonal")
    readings = pl.concat([check.readings for check in checks]).sort("file_id", maintain_order=True)
    asked = pl.concat([check.cells_asked for check in checks]).sort("file_id", maintain_order=True)
    return Checked(files, accepted.sort("file_id", maintain_order=True), held, problems, readings, asked)


def _cells_asked(accepted: pl.DataFrame) -> pl.DataFrame:
    """`CELLS_ASKED` of accepted rows that still hold their cells as typed."""
    typed = [
        (cell(name) if CELL + name in accepted.columns else pl.lit(None, pl.String)).alias(f"{name}_typed")
        for name in ASKED_ABOUT
    ]
    return accepted.select("file_id", "sheet_row", *typed).cast(CELLS_ASKED)  # type: ignore[arg-type]


def row_checks(kind: SheetKind, settings: Settings, today: date) -> Sequence[Check]:
    """The rules that each row is asked alone: those whose columns this kind of sheet has."""
    days = [kept.name for kept in kind.kept if kept.frame == "date"]
    columns = {*kind.kept_names, *(CELL + name for name in kind.by_name)}
    rules = (*fitting_rules(today, days), *plausible_rules(settings))
    return [rule for rule in rules if rule.applies_to(columns)]


def series_checks(kind: SheetKind) -> Sequence[Check]:
    """The rules that the rows of a series are asked together, once repeats are left out."""
    checks = (SteadyWords(kind), SteadyPot(), SteadyPours(), SteadyWordsByAdvice(kind))
    return [check for check in checks if check.id in kind.series_rules]


def questions_on_runs(kind: SheetKind) -> Sequence[Check]:
    """What is asked about the rows that no rule holds: a pot that does not fit its series is not asked about its time."""
    return [check for check in (FarOff(), EqualSeries()) if check.id in kind.series_rules]


def _across_rows(ledger: Ledger, sound: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """The rows that pass the rules across rows, with blanks filled from the series and both marks made."""
    rows = numbered(sound)
    ledger.ask([ZoneTaken(kind)], rows)
    ledger.supersede("zone_from_series")
    rows = ledger.work("values taken from the series", partial(taking_series_own, kind=kind), rows)
    ledger.ask([Repeats(kind)], rows)
    ledger.ask(series_checks(kind), ledger.without_repeats(rows))
    rows = ledger.left(rows)
    ledger.ask(questions_on_runs(kind), rows)
    if "part_marked" in kind.derived_names:
        rows = rows.with_columns(part_outside_headline().alias("part_marked"))
    if "unlike_pour" in kind.derived_names:
        rows = rows.with_columns(ledger.spoken_of(rows, "unlike_pour"))
    return rows


def _counted(files: pl.DataFrame, accepted: pl.DataFrame) -> pl.DataFrame:
    """The files with their accepted and held rows; held is what is not accepted of `rows`."""
    counts = accepted.group_by("file_id").agg(accepted=pl.len().cast(pl.Int64))
    return (
        files.join(counts, on="file_id", how="left", maintain_order="left")
        .with_columns(pl.col("rows").cast(pl.Int64), pl.col("accepted").fill_null(0))
        .with_columns(held=pl.col("rows") - pl.col("accepted"))
        .select("file_id", "file", "submission", "kind", "rows", "accepted", "held", "readable")
    )

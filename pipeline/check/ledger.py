"""The running account of a check: what was found so far, and which rows are still to be accepted."""

from __future__ import annotations

from collections.abc import Iterable

import polars as pl

from pipeline.check.findings import together
from pipeline.check.guarded import Check, Work, ask_all, carried_out
from pipeline.check.wording import HELD_RULES
from schemas.problems import PROBLEM_COLUMNS
from schemas.rules.series import COUNTED_ONCE

ROW = ["file_id", "sheet_row"]
NO_CELLS = "{}"


class Ledger:
    """Findings in the order they were made. Rows that no held finding speaks of are left to go on with."""

    def __init__(self, problems: pl.DataFrame) -> None:
        self.problems = problems.select(PROBLEM_COLUMNS)

    def ask(self, checks: Iterable[Check], rows: pl.DataFrame) -> None:
        """Notes what the checks find in these rows."""
        self.problems = together([self.problems, ask_all(checks, rows)])

    def work(self, name: str, work: Work, rows: pl.DataFrame) -> pl.DataFrame:
        """The rows after the work; sheets over which it breaks down are noted, and their rows are gone."""
        done, broken = carried_out(name, work, rows, rows.clear())
        self.problems = together([self.problems, broken])
        return done

    def left(self, rows: pl.DataFrame) -> pl.DataFrame:
        """The rows, in their order, that are neither held nor left out as a repeat."""
        reasons = self.problems.filter(pl.col("rule").is_in([*HELD_RULES, COUNTED_ONCE]))
        return _without(self.whole_files(rows), reasons)

    def whole_files(self, rows: pl.DataFrame) -> pl.DataFrame:
        """The rows of files that are not held as a whole, single rows held or not."""
        whole = self.problems.filter(pl.col("sheet_row").is_null() & pl.col("rule").is_in(HELD_RULES))
        held = whole.select("file_id").unique()
        return rows.join(held, on="file_id", how="anti", maintain_order="left") if held.height else rows

    def readable(self, rows: pl.DataFrame) -> pl.DataFrame:
        """The rows whose cells can be asked one by one: neither their file nor they as a whole (a row longer
        or shorter than the heading) are held."""
        of_row = pl.col("column").is_null() & pl.col("rule").is_in(HELD_RULES)
        return _without(self.whole_files(rows), self.problems.filter(of_row))

    def without_repeats(self, rows: pl.DataFrame) -> pl.DataFrame:
        """The rows that are not left out as a repeat of another, held or not."""
        return _without(self.whole_files(rows), self.problems.filter(pl.col("rule") == COUNTED_ONCE))

    def spoken_of(self, rows: pl.DataFrame, rule_id: str) -> pl.Series:
        """True for each of the rows that this rule has spoken of."""
        lines = self.problems.filter(pl.col("rule") == rule_id).select(ROW).unique()
        return _named(rows, lines).alias(rule_id)

    def supersede(self, rule_id: str) -> None:
        """Takes back other rules' advice on the cells that this rule has spoken of: it no longer holds."""
        said = ["file_id", "sheet_row", "column"]
        mine = self.problems.filter(pl.col("rule") == rule_id).select(*said, superseded=True)
        if not mine.height:
            return
        stays = pl.col("superseded").is_null() | pl.col("rule").is_in([*HELD_RULES, rule_id])
        joined = self.problems.join(mine, on=said, how="left", maintain_order="left")
        self.problems = joined.filter(stays).select(PROBLEM_COLUMNS)

    def held_rows(self, rows: pl.DataFrame, accepted: pl.DataFrame, cells: pl.DataFrame) -> pl.DataFrame:
        """Every row that is not accepted: file_id, sheet_row, level ("held", or "advice" where it only
        repeats another row), cells (JSON object of the row as typed), reasons (rule ids)."""
        held = rows.select(ROW).join(accepted.select(ROW), on=ROW, how="anti", maintain_order="left")
        reasons = self.problems.filter(pl.col("rule").is_in([*HELD_RULES, COUNTED_ONCE]))
        of_rows = reasons.group_by(ROW, maintain_order=True).agg(pl.col("rule").unique(maintain_order=True))
        of_files = of_rows.filter(pl.col("sheet_row").is_null()).select("file_id", file_rule="rule")
        names = [name for name in cells.columns if name not in ROW]
        as_typed = pl.struct(names).struct.json_encode() if names else pl.lit(NO_CELLS)
        none = pl.lit([], pl.List(pl.String))
        reason = pl.concat_list(pl.coalesce("file_rule", none), pl.coalesce("rule", none))
        return (
            held.join(of_rows, on=ROW, how="left", maintain_order="left")
            .join(of_files, on="file_id", how="left", maintain_order="left")
            .join(cells, on=ROW, how="left", maintain_order="left")
            .select(
                *ROW,
                level=pl.when(reason.list.eval(pl.element() != COUNTED_ONCE).list.any())
                .then(pl.lit("held"))
                .otherwise(pl.lit("advice")),
                cells=as_typed,
                reasons=reason,
            )
        )


def _without(rows: pl.DataFrame, problems: pl.DataFrame) -> pl.DataFrame:
    lines = problems.filter(pl.col("sheet_row").is_not_null()).select(ROW).unique()
    named = _named(rows, lines)
    return rows.filter(~named) if named.any() else rows


def _named(rows: pl.DataFrame, lines: pl.DataFrame) -> pl.Series:
    """True for each row that is among the lines."""
    marked = lines.with_columns(named=True)
    joined = rows.select(ROW).join(marked, on=ROW, how="left", maintain_order="left")
    return joined["named"].fill_null(False)

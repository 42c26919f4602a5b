"""What a file settles by all its cells together: the decimal mark, and the order of slashed dates."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import polars as pl

from pipeline.intake.cells.dates import BOTH_ORDERS, DAY_FIRST, MONTH_FIRST, OPEN_ORDER, slashed_order
from pipeline.intake.cells.numbers import marks_settled_by
from pipeline.intake.cells.readers import readers_of
from pipeline.intake.characters import fold
from pipeline.intake.files.headings import Headings
from pipeline.intake.received import Finding
from schemas.kinds.kind import SheetKind

_NUMBER_CELL = r"^-?[0-9]+(?:\.[0-9]+)?(?: %)?$"
"""What a number cell of a workbook looks like: its point is the workbook's own, whatever its member types."""
LONGEST_NUMBER_CELL = 60


@dataclass(frozen=True)
class Settled:
    """By file_id: the decimal marks found ("" none, ".", "," or ".," both), and the order of slashed dates, with
    the first cell that settled it; `date_column` is the sheet's first column of dates. `letters_guessed`: the files
    whose letters were guessed."""

    marks: Mapping[int, str]
    orders: Mapping[int, str]
    order_settled_by: Mapping[int, str]
    date_column: str = ""
    letters_guessed: frozenset[int] = frozenset()

    def decimal_mark(self, file_id: int) -> str:
        """The file's decimal mark; "" where nothing settles it, or its cells gainsay one another."""
        found = self.marks.get(file_id, "")
        return found if len(found) == 1 else ""

    def date_order(self, file_id: int) -> str:
        """How the file's slashed dates are read."""
        return self.orders.get(file_id, OPEN_ORDER)


def settle(
    cells: pl.DataFrame, workbooks: Iterable[int], headings: Mapping[int, Headings], kind: SheetKind
) -> Settled:
    """What each file of that kind settles, from the cells of its whole rows and its headings. `workbooks`: file_id of
    those that are .xlsx."""
    dates = [reader.column for reader in readers_of(kind) if reader.kind == "date"]
    orders, settled_by = _date_orders(cells, dates)
    for file_id in orders:
        says = headings[file_id].says if file_id in headings else {}
        order = next((says[name].form for name in dates if name in says), "")
        if order in (DAY_FIRST, MONTH_FIRST):
            orders[file_id], settled_by[file_id] = order, "the heading"
    marks = _decimal_marks(cells, list(workbooks), kind)
    return Settled(marks, orders, settled_by, next(iter(dates), ""))


def _decimal_marks(cells: pl.DataFrame, workbooks: list[int], kind: SheetKind) -> dict[int, str]:
    """The marks that all number cells of each file settle."""
    parts = []
    for reader in readers_of(kind):
        if not reader.has_number or reader.column not in cells.columns:
            continue
        text = pl.col(reader.column)
        with_mark = text.str.contains("[.,．，]") & (text.str.len_chars() <= LONGEST_NUMBER_CELL)
        if workbooks:
            with_mark &= ~(pl.col("file_id").is_in(workbooks) & text.str.contains(_NUMBER_CELL))
        parts.append(cells.lazy().filter(with_mark).select("file_id", text=text).unique())
    if not parts:
        return {}
    found = pl.concat(parts).unique().collect()
    marks = {text: marks_settled_by(fold(text)) for text in found["text"].unique()}
    settled: dict[int, set[str]] = {}
    for file_id, text in found.iter_rows():
        settled.setdefault(file_id, set()).update(marks[text])
    return {
        file_id: "".join(mark for mark in ".," if mark in of_file) for file_id, of_file in settled.items()
    }


def _date_orders(cells: pl.DataFrame, columns: Iterable[str]) -> tuple[dict[int, str], dict[int, str]]:
    dates = [
        cells.select("file_id", "sheet_row", text=name).filter(pl.col("text").str.contains("[/／⁄∕]"))
        for name in columns
        if name in cells.columns
    ]
    if not dates:
        return {}, {}
    slashed = pl.concat(dates).sort("file_id", "sheet_row", maintain_order=True)
    orders: dict[int, str] = {}
    settled_by: dict[int, str] = {}
    for file_id, text in slashed.select("file_id", "text").unique(maintain_order=True).iter_rows():
        order = slashed_order(fold(text))
        if order is None:
            continue
        before = orders.setdefault(file_id, OPEN_ORDER)
        if not order or order == before:
            continue
        orders[file_id] = order if before == OPEN_ORDER else BOTH_ORDERS
        settled_by.setdefault(file_id, f"“{text}”")
    return orders, settled_by


def settled_findings(settled: Settled) -> list[tuple[int, Finding]]:
    """One advice line per file that says how its slashed dates were read, or that both marks stand in it."""
    found: list[tuple[int, Finding]] = []
    for file_id, order in settled.orders.items():
        if order in (DAY_FIRST, MONTH_FIRST):
            form = "day/month/year" if order == DAY_FIRST else "month/day/year"
            details = {"order": form, "settled_by": settled.order_settled_by[file_id]}
            found.append((file_id, Finding("slashed_dates_read", details, column=settled.date_column)))
    for file_id, marks in settled.marks.items():
        if len(marks) > 1:
            found.append((file_id, Finding("decimal_marks_mixed", {})))
    return found

"""What a load speaks of: files that arrive, what became of them, moments, editions, selections."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Protocol

import polars as pl

from schemas.column import OwnHeadings
from schemas.kinds.kind import SheetKind
from schemas.version import VERSION


class CheckedSheets(Protocol):
    """The check stage's answer for a batch of files, as frames.

    files: file_id, submission, kind (name), rows, accepted, held, readable · accepted_of: file_id and the canonical
    columns of the accepted rows of one kind of sheet · held: file_id, sheet_row, cells (JSON of the cells as typed), reasons (rule ids) ·
    problems: file_id, row, column, value, rule, level, message, fix.
    """

    @property
    def files(self) -> pl.DataFrame: ...
    @property
    def held(self) -> pl.DataFrame: ...
    @property
    def problems(self) -> pl.DataFrame: ...
    def accepted_of(self, kind: SheetKind) -> pl.DataFrame: ...


Recheck = Callable[[Sequence[tuple[str, bytes, OwnHeadings]], date, Mapping[str, Any]], CheckedSheets]
"""Reads and checks archived files again: name, bytes and own headings of each, the day of the first check, the settings'
values of that day. `file_id` in the answer is the position in the sequence."""


@dataclass(frozen=True)
class Arrival:
    """One checked file about to be received. `received` None: the moment it is written down.
    `note`: a sentence about its moment, for the member's receipt. `columns`: what the member said of own headings.
    `whole_series`: it takes the place of every run of the series that it names."""

    file_id: int
    name: str
    content: bytes
    received: datetime | None = None
    note: str | None = None
    columns: OwnHeadings = ()
    whole_series: bool = False


@dataclass(frozen=True)
class Outcome:
    """What became of one arrival. `receipt` is the number of its journal line; `notes` are advice lines
    for the receipt (what was mended, when it counts as received). `refused`: why it was not taken."""

    file_id: int
    name: str
    submission: str
    receipt: int | None
    received: datetime | None
    already_loaded: bool
    readable: bool
    rows: int
    accepted: int
    held: int
    notes: tuple[str, ...] = ()
    refused: str | None = None

    @property
    def exit_code(self) -> int:
        """3 refused, 2 could not be read as a run sheet, 1 some row held, 0 all accepted."""
        if self.refused is not None:
            return 3
        if not self.readable:
            return 2
        return 1 if self.held else 0


@dataclass(frozen=True)
class Cutoff:
    """Which part of a pool is looked at. `received_until`: receipts up to this moment are the sheets of the
    month. Of everything that happened to them later (mending, withdrawing, setting aside), what stands in
    the journal before line `known_before`, or at or before `known_until`, is known. All None: everything."""

    received_until: datetime | None = None
    known_until: datetime | None = None
    known_before: int | None = None


EVERYTHING = Cutoff()


@dataclass(frozen=True)
class Edition:
    """One edition of one month. `line`: its journal line, None while the month is open (not journalled).
    `as_of`: the moment whose knowledge it holds. `erased`: runs erased from the month before it was made.
    `version`: the drainpool that made it. `known`: of an open month, the newest journal line that it rests on."""

    month: str
    number: int
    as_of: datetime
    open: bool
    line: int | None
    published: bool = False
    reason: str | None = None
    erased: int = 0
    version: str = VERSION
    known: int | None = None

    @property
    def stands(self) -> bool:
        """Published by an older drainpool: it stands as it is."""
        return self.published and self.version != VERSION


@dataclass(frozen=True)
class Selection:
    """Runs chosen by member, by member and series, by submission hash (or its first 8 or more characters),
    or one row of a submission."""

    member: str | None = None
    series: str | None = None
    submission: str | None = None
    sheet_row: int | None = None


@dataclass(frozen=True)
class Taken:
    """What a decision changed: runs, their series; `receipts` the sheets that it covers, `line` the journal line."""

    line: int
    runs: int
    series: int
    receipts: int


@dataclass(frozen=True)
class View:
    """The sheets of one kind in a pool as seen at a cutoff, all parts from one and the same state of the store.

    runs: accepted rows in force in their canonical columns, sorted by member, series and place (share, pot, pour).
    held: receipt, submission, file, received, sheet_row, member, series, reasons (list), cells (JSON), message:
    rows held and not cleared by a later sheet. waiting: accepted runs that wait for an answer, in the canonical columns,
    with what is asked (`runs_that_wait.WAITING`); they are not among `runs`. receipts: receipt, submission, file, received, rows, accepted,
    held, readable, in_force (runs). counts: members, series, runs, held, waits, receipts.
    """

    runs: pl.DataFrame
    held: pl.DataFrame
    waiting: pl.DataFrame
    receipts: pl.DataFrame
    counts: Mapping[str, int]

    @property
    def standing(self) -> pl.DataFrame:
        """The runs in force and those that wait, in the canonical columns: what a member has in the pool."""
        if self.waiting.is_empty():
            return self.runs
        return pl.concat([self.runs, self.waiting.select(self.runs.columns)])

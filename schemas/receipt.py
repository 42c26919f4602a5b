"""The receipt of one file as values: what `check --format json` and `load --format json` give for each file."""

from __future__ import annotations

from typing import Literal, NotRequired, TypedDict


class ReceiptProblem(TypedDict):
    """One thing found in a file. `row`, `column`, `value` are None where the problem is about more than a cell."""

    row: int | None
    column: str | None
    value: str | None
    rule: str
    level: Literal["held", "advice"]
    message: str
    fix: str


class FormRead(TypedDict):
    """One form of a column: as typed, as read, and on how many rows."""

    typed: str
    read: str
    rows: int


class ColumnRead(TypedDict):
    """How one column was read: extremes first, then rare forms; `more_forms` and `more_rows` are not listed."""

    column: str
    forms: list[FormRead]
    more_forms: int
    more_rows: int


class LoadKeys(TypedDict):
    """What became of a file in the pool. `submission`: its content hash; `refused`: why it was not received."""

    submission: NotRequired[str]
    already_loaded: NotRequired[bool]
    refused: NotRequired[str]


class FileReceipt(LoadKeys):
    """What was found in one file; the keys of `LoadKeys` only where it was loaded. `held` counts rows, not problems."""

    file: str
    rows: int
    accepted: int
    held: int
    problems: list[ReceiptProblem]
    readings: list[ColumnRead]


class ReceiptsValue(TypedDict):
    """The receipts of several files, in their order."""

    files: list[FileReceipt]

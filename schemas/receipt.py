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


class FileReceipt(TypedDict):
    """What became of one file; the last three only where it was loaded. `held` counts rows, not problems."""

    file: str
    rows: int
    accepted: int
    held: int
    problems: list[ReceiptProblem]
    submission: NotRequired[str]
    already_loaded: NotRequired[bool]
    refused: NotRequired[str]

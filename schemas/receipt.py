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


class OthersBeside(TypedDict):
    """Other growers of the pool with the same mix: how many, and how many of them found a smaller ratio."""

    members: int
    less: int


class PotRate(TypedDict):
    """One pour of a sheet. `rate_ml_min_l`: ml per minute and litre of mix, None where the pot `ran_dry` or the clock
    was `stopped` before the water was out; `slower_than_ml_min_l` says what is known of a stopped one."""

    share: float
    pot: int
    pour: int
    ended: str
    rate_ml_min_l: float | None
    slower_than_ml_min_l: float | None


class OwnRatio(TypedDict):
    """A mix of a series against its own straight base, freshly filled pots: 1.5 is 1.5 times as fast. `others` is None
    without a pool, or where fewer than 3 others measured the mix."""

    share: float
    ratio: float
    pots: int
    others: OthersBeside | None


class SeriesResult(TypedDict):
    """What a sheet itself says of one series, before the month. `repeat_factor`: largest factor between two pots of one
    mix; `by_hand`: the arithmetic of the first rate; `notes`: sentences on what has no figure, and why."""

    member: str
    series: str
    tested_on: str
    component: str | None
    base: str
    pots: list[PotRate]
    ratios: list[OwnRatio]
    repeat_factor: float | None
    by_hand: str | None
    notes: list[str]


class LoadKeys(TypedDict):
    """What became of a file in the pool. `submission`: its content hash; `refused`: why it was not received."""

    submission: NotRequired[str]
    already_loaded: NotRequired[bool]
    refused: NotRequired[str]


class FileReceipt(LoadKeys):
    """What was found in one file; the keys of `LoadKeys` only where it was loaded. `held` counts rows, not problems;
    `waits` those of the accepted rows that wait for an answer."""

    file: str
    rows: int
    accepted: int
    held: int
    waits: int
    problems: list[ReceiptProblem]
    readings: list[ColumnRead]
    results: list[SeriesResult]


class ReceiptsValue(TypedDict):
    """The receipts of several files, in their order."""

    files: list[FileReceipt]

"""Sheets checked for a page: the receipt, how cells were read, and what the pool already has of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import polars as pl

from pipeline.check.receipt import as_json_value
from pipeline.check.steps import Checked
from pipeline.jobs.own_result.others import OtherGrowers
from pipeline.jobs.own_result.steps import own_results
from pipeline.jobs.receiving.checking import pool_settings
from pipeline.jobs.receiving.own_headings import OwnColumns, own_columns
from pipeline.jobs.receiving.readings import check_and_read_back
from pipeline.jobs.receiving.receipts import with_waits
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.load.keeping.opening import is_pool
from pipeline.load.views.preview import preview
from schemas.receipt import FileReceipt


@dataclass(frozen=True)
class CheckedSheet:
    """What the check found in one sheet. `readings`: column, as typed, as read; `in_pool`: what the pool already has
    of it; `members`: codes in the sheet. `missing`: required columns without a heading; `own_columns`: the first
    cells of each column whose heading was not understood; `columns`: own headings as their member explained them;
    `proposed`: the missing column that an own heading nearly names."""

    receipt: FileReceipt
    readable: bool
    submission: str
    readings: list[tuple[str, str, str]] = field(default_factory=list)
    in_pool: list[str] = field(default_factory=list)
    members: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    own_columns: dict[str, list[str]] = field(default_factory=dict)
    columns: dict[str, str] = field(default_factory=dict)
    proposed: dict[str, str] = field(default_factory=dict)


def check_for_page(
    pool: Path, others: Callable[[], OtherGrowers | None], sheets: Sequence[Sheet], today: date
) -> list[CheckedSheet]:
    """Checks a batch with the pool's settings, in the order of the sheets that could be opened; own results stand
    beside those of `others`."""
    settings = pool_settings(pool)
    checked, readings = check_and_read_back(sheets, settings, today)
    in_pool: Mapping[int, Sequence[str]] = {}
    if is_pool(pool):
        in_pool, checked = preview(pool, checked), with_waits(pool, checked)
    receipts = as_json_value(checked, results=own_results(checked, settings, others()))["files"]
    members = members_named(checked)
    opened = [sheet for sheet in sheets if sheet.content is not None]
    own = [
        own_columns(sheet) if lacks_columns(receipt) else OwnColumns()
        for sheet, receipt in zip(opened, receipts, strict=True)
    ]
    return [
        CheckedSheet(
            receipt=receipt,
            readable=row["readable"],
            submission=row["submission"],
            readings=[
                (reading.column, reading.typed, reading.read) for reading in readings.get(row["file_id"], [])
            ],
            in_pool=list(in_pool.get(row["file_id"], ())),
            members=members.get(row["file_id"], []),
            missing=list(mine.missing),
            own_columns=dict(mine.cells),
            columns=dict(sheet.columns),
            proposed=dict(mine.proposed),
        )
        for sheet, mine, receipt, row in zip(
            opened, own, receipts, checked.files.iter_rows(named=True), strict=True
        )
    ]


def lacks_columns(receipt: FileReceipt) -> bool:
    """Whether a sheet has rows and lacks a required column."""
    return any(problem["rule"] == "column_missing" for problem in receipt["problems"])


def members_named(checked: Checked) -> dict[int, list[str]]:
    """Every member code that each sheet names, by file_id: in accepted rows and, where they can be read, in held ones."""
    codes = pl.concat(
        [
            checked.accepted.select("file_id", "member"),
            checked.held.select("file_id", pl.col("cells").str.json_path_match("$.member").alias("member")),
        ]
    ).drop_nulls()
    by_file = codes.unique(maintain_order=True).group_by("file_id", maintain_order=True).agg("member")
    return {row["file_id"]: row["member"] for row in by_file.iter_rows(named=True)}

"""Sheets checked for a page: the receipt, how cells were read, and what the pool already has of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import polars as pl

from pipeline.check.receipt import as_json_value
from pipeline.check.steps import Checked
from pipeline.jobs.own_result.others import OtherGrowers
from pipeline.jobs.own_result.steps import own_results
from pipeline.jobs.receiving.checking import pool_settings
from pipeline.jobs.receiving.readings import check_and_read_back
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.load.steps import is_pool, preview
from schemas.receipt import FileReceipt


@dataclass(frozen=True)
class CheckedSheet:
    """What the check found in one sheet. `readings`: column, as typed, as read; `in_pool`: what the pool already has
    of it; `members`: codes in the sheet."""

    receipt: FileReceipt
    readable: bool
    submission: str
    readings: list[tuple[str, str, str]] = field(default_factory=list)
    in_pool: list[str] = field(default_factory=list)
    members: list[str] = field(default_factory=list)


def check_for_page(
    pool: Path, others: Callable[[], OtherGrowers | None], sheets: Sequence[Sheet], today: date
) -> list[CheckedSheet]:
    """Checks a batch with the pool's settings, in the order of the sheets that could be opened; own results stand
    beside those of `others`."""
    settings = pool_settings(pool)
    checked, readings = check_and_read_back(sheets, settings, today)
    in_pool = preview(pool, checked) if is_pool(pool) else {}
    receipts = as_json_value(checked, results=own_results(checked, settings, others()))["files"]
    members = members_named(checked)
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
        )
        for receipt, row in zip(receipts, checked.files.iter_rows(named=True), strict=True)
    ]


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

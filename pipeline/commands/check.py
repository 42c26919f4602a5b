"""`drainpool check`: what drainpool makes of run sheets, without changing anything."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from pipeline.commands.line.receipts import Receipts, receipts_result
from pipeline.commands.line.result import DONE, FILE_UNREADABLE, SOME_ROW_HELD, CommandResult, Say


def check(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """The receipt of each file as text or JSON. Exit code 2: a file can't be read, 1: some row is held."""
    from pipeline.jobs.receiving.checking import check_batch, now, pool_settings
    from pipeline.jobs.receiving.sheets import batches, named_sheets

    settings = pool_settings(arguments.pool)
    receipts = Receipts()
    exit_code = DONE
    for sheets in batches(named_sheets(arguments.files)):
        checked = check_batch(sheets, settings, now().date())
        notes = _what_the_pool_says(arguments.pool, checked)
        receipts.add(checked, notes, {}, notes)
        receipts.add_missing(sheets)
        exit_code = max(exit_code, _exit_code(checked), FILE_UNREADABLE if receipts.missing else DONE)
    return receipts_result(receipts, exit_code, arguments.format)


def _what_the_pool_says(pool: Path | None, checked: Any) -> dict[int, list[str]]:
    """Lines per file: already there, or what loading it would mend. The store is opened only where asked."""
    if pool is None:
        return {}
    from pipeline.load.steps import preview

    return {file_id: list(lines) for file_id, lines in preview(pool, checked).items()}


def _exit_code(checked: Any) -> int:
    if not checked.files["readable"].all():
        return FILE_UNREADABLE
    return SOME_ROW_HELD if checked.files["held"].sum() else DONE

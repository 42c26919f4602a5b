"""`drainpool check`: what drainpool makes of run sheets, without changing anything."""

from __future__ import annotations

import argparse

from pipeline.commands.line.receipts import receipts_result
from pipeline.commands.line.result import DONE, FILE_UNREADABLE, SOME_ROW_HELD, CommandResult, Say


def check(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """The receipt of each file as text or JSON. Exit code 2: a file can't be read, 1: some row is held."""
    from pipeline.jobs.own_result.others import other_growers
    from pipeline.jobs.own_result.steps import own_results
    from pipeline.jobs.receiving.checking import check_batch, now, pool_settings
    from pipeline.jobs.receiving.own_headings import own_headings
    from pipeline.jobs.receiving.receipts import Receipts, what_the_pool_says, with_waits
    from pipeline.jobs.receiving.sheets import batches, named_sheets

    columns = own_headings(arguments.columns)
    settings = pool_settings(arguments.pool)
    others = other_growers(arguments.pool, settings)
    receipts = Receipts()
    for sheets in batches(named_sheets(arguments.files, columns)):
        checked = with_waits(arguments.pool, check_batch(sheets, settings, now().date()))
        notes = what_the_pool_says(arguments.pool, checked)
        receipts.add(checked, notes, {}, notes, own_results(checked, settings, others))
        receipts.add_missing(sheets)
    exit_code = SOME_ROW_HELD if receipts.held else DONE
    if receipts.missing or receipts.unreadable:
        exit_code = FILE_UNREADABLE
    return receipts_result(receipts, exit_code, arguments.format)

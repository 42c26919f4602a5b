"""`drainpool load`: checks run sheets, then adds the accepted rows to the pool."""

from __future__ import annotations

import argparse
from pathlib import Path

from pipeline.commands.line.by_whom import by_whom
from pipeline.commands.line.receipts import receipts_result
from pipeline.commands.line.result import DONE, FILE_UNREADABLE, CommandResult, Say
from pipeline.errors import DrainpoolError


def load(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """The receipt of each file, as `check` gives it, with what became of the file in the pool. A request file
    of the desk is carried out first."""
    from pipeline.jobs.decisions.requests import carry_out_file
    from pipeline.jobs.receiving.own_headings import own_headings
    from pipeline.jobs.receiving.receipts import Receipts
    from pipeline.jobs.receiving.sheets import batches, is_request, named_sheets
    from pipeline.jobs.receiving.steps import Moment, growers_to_compare, load_batch, received_moment

    named = [Path(name) for name in arguments.files if is_request(name)]
    undone = [path for path in named if not carry_out_file(arguments.pool, path, say)]
    person = by_whom(arguments)
    columns = own_headings(arguments.columns)
    received = received_moment(arguments.received)
    others = growers_to_compare(arguments.pool, person, say)
    receipts = Receipts()
    exit_code = DrainpoolError.exit_code if undone else DONE
    for sheets in batches(named_sheets([name for name in arguments.files if not is_request(name)], columns)):
        batch = load_batch(
            arguments.pool,
            sheets,
            [Moment(received)] * len(sheets),
            person,
            say,
            arguments.whole_series,
            others,
        )
        receipts.add(batch.checked, batch.notes, batch.load_keys, batch.in_pool, batch.results, batch.refused)
        receipts.add_missing(sheets)
        codes = [outcome.exit_code for outcome in batch.outcomes]
        exit_code = max(exit_code, *codes, FILE_UNREADABLE if receipts.missing else DONE)
    return receipts_result(receipts, exit_code, arguments.format)

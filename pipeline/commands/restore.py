"""`drainpool restore`: puts withdrawn runs back, or makes a pool from its backup."""

from __future__ import annotations

import argparse

from pipeline.commands.line.by_whom import by_whom, reason
from pipeline.commands.line.result import DONE, CommandResult, Say
from pipeline.commands.line.selection import amount, in_words, selected


def restore(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """Puts withdrawn runs back into the running month and all later ones; or makes the pool of a backup."""
    if arguments.backup is not None:
        return _from_backup(arguments, say)
    from pipeline.jobs.decisions.steps import restore_runs

    taken = restore_runs(arguments.pool, selected(arguments), reason(arguments), by_whom(arguments), say)
    if not taken.runs:
        return CommandResult(DONE, f"Nothing was restored: no run of {in_words(arguments)} is withdrawn.\n")
    return CommandResult(
        DONE,
        f"Restored: {amount(taken.runs, taken.series)} of {in_words(arguments)}. Months from now on hold them again.\n",
    )


def _from_backup(arguments: argparse.Namespace, say: Say) -> CommandResult:
    from pipeline.jobs.keeping.steps import restore_pool

    made = restore_pool(arguments.backup, arguments.pool, say)
    return CommandResult(
        DONE,
        f"The pool of {arguments.backup} stands in {arguments.pool}: {made.receipts} receipts, {made.runs} runs.\n",
    )

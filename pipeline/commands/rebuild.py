"""`drainpool rebuild`: makes the store again from archive and journal."""

from __future__ import annotations

import argparse

from pipeline.commands.line.result import DONE, CommandResult, Say


def rebuild(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """Makes the store again, content for content."""
    from pipeline.jobs.keeping.steps import rebuild_pool

    made = rebuild_pool(arguments.pool, say)
    return CommandResult(DONE, f"Made again: {made.receipts} receipts, {made.runs} runs.\n")

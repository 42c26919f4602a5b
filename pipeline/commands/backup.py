"""`drainpool backup`: one file from which the pool can be made again."""

from __future__ import annotations

import argparse

from pipeline.commands.line.result import DONE, CommandResult, Say


def backup(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """One file from which the pool can be made again."""
    from pipeline.jobs.keeping.steps import backup_pool

    size = backup_pool(arguments.pool, arguments.file, say)
    return CommandResult(
        DONE,
        f"Written: {arguments.file} ({size} bytes). "
        f"To make the pool of it in another folder: drainpool restore --pool NEW-FOLDER --backup {arguments.file}\n",
    )

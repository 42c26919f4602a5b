"""`drainpool erase`: takes a member's data out of the pool and the desk."""

from __future__ import annotations

import argparse

from pipeline.commands.line.by_whom import by_whom, reason
from pipeline.commands.line.result import DONE, CommandResult, Say


def erase(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """Erases a member; lists the months whose promise of the same bytes ends."""
    from pipeline.desk.erasing import forget
    from pipeline.jobs.keeping.erasing import SEARCHED, erase_member

    gone = erase_member(
        arguments.pool,
        arguments.member,
        reason(arguments),
        by_whom(arguments),
        say,
        lambda: forget(arguments.pool, arguments.member),
    )
    lines = [
        f"Erased: {gone.runs} runs and {gone.held} held rows of {gone.sheets + gone.shared_sheets} sheets, "
        "their bytes, names and pages. Hashes and the fact stay in the journal."
    ]
    if gone.months:
        lines.append(
            f"These months can't be made again to the same bytes: {', '.join(gone.months)}. "
            "Made again, each becomes a new edition that says how many rows were erased."
        )
    lines.append(f"Searched: {SEARCHED}.")
    if gone.naming:
        lines.append(
            f"The code still stands in {len(gone.naming)} {'file' if len(gone.naming) == 1 else 'files'} that others sent or wrote; "
            f"look at them yourself: {', '.join(gone.naming)}."
        )
    lines.append("Backups made before still hold the data; they are yours to remove.")
    return CommandResult(DONE, "\n".join(lines) + "\n")

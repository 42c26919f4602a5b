"""`drainpool withdraw`: takes runs out of later months."""

from __future__ import annotations

import argparse

from pipeline.commands.line.by_whom import by_whom, reason
from pipeline.commands.line.result import DONE, CommandResult, Say
from pipeline.commands.line.selection import amount, in_words, retyped, selected


def withdraw(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """Takes the chosen runs out of the running month and all later ones."""
    from pipeline.jobs.decisions.steps import withdraw_runs

    taken = withdraw_runs(arguments.pool, selected(arguments), reason(arguments), by_whom(arguments), say)
    if not taken.runs:
        return CommandResult(DONE, f"Nothing was withdrawn: no run of {in_words(arguments)} is in force.\n")
    return CommandResult(
        DONE,
        f"Withdrawn: {amount(taken.runs, taken.series)} of {in_words(arguments)}. Months from now on leave them out; "
        f"reports already made stay as they are.\nTo put them back: drainpool restore --pool {arguments.pool} "
        f"{retyped(arguments)} --reason …\n",
    )

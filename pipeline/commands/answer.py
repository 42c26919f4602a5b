"""`drainpool answer`: what the coordinator decided about an odd result."""

from __future__ import annotations

import argparse

from pipeline.commands.line.by_whom import by_whom, reason
from pipeline.commands.line.result import DONE, CommandResult, Say
from pipeline.errors import WrongUseError
from schemas.trade.public_reasons import OTHER

SENTENCES = {
    "keep": "Kept: {amount} stay in, and the journal says they were looked at.",
    "ask": "Asked: {amount} stay in for now; the journal says the member was asked.",
    "aside": "Set aside: {amount} are out of months from now on, and counted there as set aside.",
}


def answer(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """Writes the decision into the journal, with date and name."""
    from pipeline.jobs.decisions.steps import decide_runs

    if arguments.row is not None and arguments.series is None:
        raise WrongUseError("--row goes with --series: the same row number stands in every sheet.")
    if arguments.why is not None and arguments.decision != "aside":
        raise WrongUseError("--why goes with aside: it is what the pages say of runs that were set aside.")
    if arguments.submission is not None and arguments.row is None:
        raise WrongUseError("--submission goes with --row: it says of which sheet the row is.")
    taken = decide_runs(
        arguments.pool,
        arguments.decision,
        (arguments.member, arguments.series, arguments.row, arguments.submission),
        reason(arguments),
        by_whom(arguments),
        say,
        arguments.why or OTHER,
    )
    amount = f"{taken.runs} run{'' if taken.runs == 1 else 's'}"
    return CommandResult(DONE, SENTENCES[arguments.decision].format(amount=amount) + "\n")

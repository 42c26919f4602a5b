"""`drainpool answer`: what the coordinator decided about an odd result."""

from __future__ import annotations

import argparse

from pipeline.commands.answer import DONE, Answer, Say
from pipeline.commands.person import by_whom, reason
from pipeline.errors import WrongUseError

SAID = {
    "keep": "Kept: {amount} stay in, and the journal says they were looked at.",
    "ask": "Asked: {amount} stay in for now; the journal says the member was asked.",
    "aside": "Set aside: {amount} are out of months from now on, and counted there as set aside.",
}


def answer(arguments: argparse.Namespace, say: Say) -> Answer:
    """Writes the decision into the journal, with date and name."""
    from pipeline.jobs.change import decide_runs

    if arguments.row is not None and arguments.series is None:
        raise WrongUseError("--row goes with --series: the same row number stands in every sheet.")
    if arguments.submission is not None and arguments.row is None:
        raise WrongUseError("--submission goes with --row: it says of which sheet the row is.")
    taken = decide_runs(
        arguments.pool,
        arguments.decision,
        (arguments.member, arguments.series, arguments.row, arguments.submission),
        reason(arguments),
        by_whom(arguments),
        say,
    )
    amount = f"{taken.runs} run{'' if taken.runs == 1 else 's'}"
    return Answer(DONE, SAID[arguments.decision].format(amount=amount) + "\n")

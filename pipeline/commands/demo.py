"""`drainpool demo`: a pool made from invented samples, its months run, and the page to open."""

from __future__ import annotations

import argparse
from dataclasses import replace

from pipeline.commands.line.by_whom import by_whom
from pipeline.commands.line.result import DONE, CommandResult, Say
from pipeline.commands.month import in_words, made_month


def demo(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """Makes the demo's pool where it is not there yet and runs its months; the last line is the page to open."""
    from pipeline.jobs.demo import make_demo_pool, put_samples_in_inbox
    from pipeline.jobs.month.steps import MonthOrder
    from pipeline.jobs.samples import demo_months

    person = by_whom(arguments)
    make_demo_pool(arguments.pool, person, say)
    order = MonthOrder(arguments.pool, "", person, publish=True)
    told = []
    for month in demo_months():
        put_samples_in_inbox(arguments.pool, month)
        told.append(in_words(made_month(replace(order, month=month), say)))
    return CommandResult(DONE, "\n".join(told))

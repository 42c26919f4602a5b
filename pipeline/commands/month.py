"""`drainpool month`: the coordinator's monthly job, one flow from the inbox to the report pages."""

from __future__ import annotations

import argparse
import os
from contextlib import chdir
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.commands.line.by_whom import by_whom, reason
from pipeline.commands.line.result import DONE, CommandResult, Say
from pipeline.errors import WrongUseError

if TYPE_CHECKING:
    from pipeline.flows import MonthMade
    from pipeline.jobs.month.steps import MonthOrder


def month(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """Makes the month's report and says which page to open, what it says, and how many rows wait."""
    from pipeline.jobs.dates import read_month
    from pipeline.jobs.month.files.publishing import draft_to_publish, publish_month
    from pipeline.jobs.month.steps import MonthOrder, open_pool, standing_edition
    from pipeline.jobs.receiving.checking import now

    if arguments.reason is not None and not arguments.correct:
        raise WrongUseError("--reason goes with --correct.")
    order = MonthOrder(
        pool=arguments.pool,
        month=read_month(arguments.month, now()),
        by_whom=by_whom(arguments),
        correct=arguments.correct,
        reason=reason(arguments) if arguments.correct else None,
        publish=arguments.publish,
    )
    open_pool(order, say)
    if (stands := standing_edition(order)) is not None:
        return CommandResult(DONE, as_it_stands(order, stands.number, stands.version))
    if (
        order.publish
        and not order.correct
        and (draft := draft_to_publish(order.pool, order.month)) is not None
    ):
        publish_month(order.pool, draft, order.by_whom, say)
        return CommandResult(DONE, as_published(order, draft.number))
    return CommandResult(DONE, in_words(made_month(order, say)))


def made_month(order: MonthOrder, say: Say) -> MonthMade:
    """Runs the month, and publishes its draft where that was asked for."""
    from pipeline.jobs.month.files.making import is_draft
    from pipeline.jobs.month.files.publishing import publish_month

    made = run(order, say)
    if order.publish and is_draft(made.figures.edition):
        edition = publish_month(order.pool, made.figures.edition, order.by_whom, say)
        made = replace(made, figures=replace(made.figures, edition=edition))
    return made


def as_published(order: MonthOrder, edition: int) -> str:
    """What is said of a draft that was published as it stood."""
    from pipeline.jobs.month.files.folder import month_folder
    from pipeline.jobs.month.steps import INDEX

    return (
        f"{order.month}: edition {edition} is published, as its draft stood. Nothing was computed anew; what waits in the "
        f"inbox waits for the next run.\nOpen: {(month_folder(order.pool, order.month) / INDEX).resolve()}\n"
    )


def as_it_stands(order: MonthOrder, edition: int, version: str | None) -> str:
    """What is said of an edition that an older drainpool version published: nothing is made."""
    from pipeline.jobs.month.files.folder import month_folder
    from pipeline.jobs.month.steps import INDEX

    return (
        f"{order.month}: edition {edition} stands as drainpool {version} published it. Nothing was "
        "changed. For a new edition by today's methods, type: "
        f"drainpool month {order.month} --pool {order.pool} --correct --reason …\n"
        f"Open: {(month_folder(order.pool, order.month) / INDEX).resolve()}\n"
    )


def run(order: MonthOrder, say: Say) -> MonthMade:
    """Runs the month's flow, with its home inside the pool."""
    from pipeline.jobs.month.flow_home import environment, home
    from pipeline.jobs.month.server import started_server
    from pipeline.jobs.month.steps import open_pool

    open_pool(order, say)
    api = started_server(order.pool, os.environ).api
    os.environ.update({**environment(order.pool), "PREFECT_API_URL": api})
    say(f"Making the report of {order.month} …")
    order = replace(order, pool=order.pool.resolve())
    home(order.pool).mkdir(exist_ok=True)
    with chdir(home(order.pool)):
        from pipeline.flows import run_month

        return run_month(order, say)


def in_words(made: MonthMade) -> str:
    """What a finished month tells the coordinator; the last line is the page to open."""
    from pipeline.jobs.month.sentences import month_sentences

    lines = month_sentences(made.figures, made.taken_in)
    return "\n".join([*lines, f"Open: {Path(made.index).resolve()}"]) + "\n"

"""`drainpool query`: the pooled comparison for one part of the pool."""

from __future__ import annotations

import argparse
import json

from pipeline.commands.line.result import DONE, CommandResult, Say

OPTIONS = ("climate", "pot_volume", "setup", "grade", "component", "base", "since", "until")


def query(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """The comparison as a table, as CSV or as JSON; ends 0 also when there are too few tests."""
    from pipeline.jobs.query.part import read_part, read_share
    from pipeline.jobs.query.steps import answer
    from pipeline.jobs.query.text import as_csv, as_table, sentences

    part = read_part({name: getattr(arguments, name) for name in OPTIONS})
    answered = answer(arguments.pool, part, arguments.by, read_share(arguments.against))
    match arguments.format:
        case "json":
            return CommandResult(
                DONE,
                json.dumps({**answered.value, "sentences": sentences(answered)}, sort_keys=True, indent=1)
                + "\n",
            )
        case "csv":
            return CommandResult(DONE, as_csv(answered))
        case _:
            return CommandResult(DONE, as_table(answered))

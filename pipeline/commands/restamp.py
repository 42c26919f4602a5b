"""`drainpool restamp`: puts moments right that a wrong clock stamped."""

from __future__ import annotations

import argparse
from datetime import UTC, date, datetime

from pipeline.commands.line.by_whom import by_whom, reason
from pipeline.commands.line.result import DONE, CommandResult, Say
from pipeline.errors import WrongUseError


def restamp(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """Says which journal lines now count as written when."""
    from pipeline.jobs.keeping.clock import restamp as put_right

    restamped = put_right(arguments.pool, _day(arguments.to), reason(arguments), by_whom(arguments), say)
    return CommandResult(
        DONE,
        f"Journal lines {restamped.first} to {restamped.last} count as written at {restamped.to:%Y-%m-%d %H:%M} UTC. Sheets "
        "among them count as received then at the latest, and no month that had not ended by then is closed by them.\n",
    )


def _day(typed: str | None) -> datetime | None:
    if typed is None:
        return None
    try:
        return datetime.combine(date.fromisoformat(typed), datetime.min.time(), UTC)
    except ValueError:
        raise WrongUseError(f"“{typed}” is not a day. Write it as year-month-day, like 2026-03-14.") from None

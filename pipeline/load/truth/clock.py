"""The machine's clock against the journal: a wrong one is met before it can stamp anything."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from pipeline.errors import DrainpoolError

MOST_BEHIND = timedelta(days=1)
MOST_AHEAD = timedelta(days=183)
"""Half a year: a pool that rests longer between two changes is asked whether the clock is right."""
WITHOUT_A_CHECK = frozenset({"made", "upgraded", "clock_confirmed", "restamped"})
"""Changes that speak of the clock, or carry no moment that anything rests on."""


def odd_clock(newest: datetime | None, present: datetime, pool: Path) -> str | None:
    """Why a moment can't be taken as it is, beside the newest journal line, or None where it can: more than a day behind
    it, or more than half a year after it."""
    if newest is None or -MOST_BEHIND <= present - newest <= MOST_AHEAD:
        return None
    readings = (
        f"This machine's clock reads {present:%Y-%m-%d %H:%M} UTC, and the newest line of the journal was written at "
        f"{newest:%Y-%m-%d %H:%M} UTC"
    )
    days = abs((present - newest).days)
    if present < newest:
        return (
            f"{readings}: the clock is {days} days behind it. Nothing was changed. If the clock is wrong, set it and type the "
            "command again. If the clock is right, the journal was written under a wrong one; put its moments right first: "
            f'drainpool restamp --pool {pool} --reason "…"'
        )
    return (
        f"{readings}, {days} days before. Nothing was changed. If the clock is wrong, set it and type the command again. If "
        "the clock is right, type the command again with --clock-is-right"
    )


def refuse_odd_clock(newest: datetime | None, present: datetime, pool: Path) -> None:
    """Raises DrainpoolError, with both readings and what to type, where the moment can't be taken as it is."""
    why = odd_clock(newest, present, pool)
    if why is not None:
        raise DrainpoolError(why)

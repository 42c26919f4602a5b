"""Putting moments right that a wrong clock stamped; confirming a clock that looks wrong and is not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from pipeline.errors import DrainpoolError, WrongUseError
from pipeline.load.database import store
from pipeline.load.database.writer import Writer, commit
from pipeline.load.truth import journal
from pipeline.load.truth.clock import MOST_AHEAD, MOST_BEHIND
from pipeline.load.truth.journal import Change
from pipeline.load.truth.receipts import received_in
from schemas.trade.moments import moment_text


@dataclass(frozen=True)
class Restamped:
    """Journal lines `first` to `last` were put right to the moment `to`."""

    first: int
    last: int
    to: datetime


def restamp(writer: Writer, reason: str, to: datetime | None = None) -> Restamped:
    """Gives every line that was stamped more than a day after the present the moment `to` (without one the present).
    Sheets count as received then at the latest; an edition of a month that had not ended by then no longer counts.
    Raises DrainpoolError where no line is stamped so, or `to` lies before the line before them or in the future."""
    if not reason.strip():
        raise WrongUseError("Say why, with --reason TEXT. Nothing was changed.")
    present = writer.clock().replace(microsecond=0)
    wrong = [line for line in writer.lines if line.at > present + MOST_BEHIND]
    if not wrong:
        raise DrainpoolError(
            f"No line of the journal is stamped after {present:%Y-%m-%d %H:%M} UTC, the reading of this machine's clock. "
            "Nothing was changed."
        )
    moment = present if to is None else to
    before = writer.lines[wrong[0].n - 2].at if wrong[0].n > 1 else None
    if moment > present or (before is not None and moment < before):
        earliest = "" if before is None else f"from {before:%Y-%m-%d %H:%M} (the line before them) "
        raise DrainpoolError(
            f"{moment:%Y-%m-%d} can't be the moment of lines {wrong[0].n} to {writer.lines[-1].n}: it has to lie {earliest}"
            f"to {present:%Y-%m-%d %H:%M} UTC. Nothing was changed."
        )
    restamped = Restamped(wrong[0].n, writer.lines[-1].n, moment)
    payload = {"first": restamped.first, "last": restamped.last, "to": moment_text(moment)}
    commit(
        writer,
        [Change("restamped", payload, {"reason": reason.strip()})],
        lambda connection, lines: store.set_received(
            connection, received_in(journal.put_right([*writer.lines, *lines]))
        ),
    )
    return restamped


def confirm_clock(writer: Writer) -> None:
    """Writes down that the clock is right, where the newest line lies more than half a year back; nothing otherwise."""
    if writer.lines and writer.clock() - writer.lines[-1].at > MOST_AHEAD:
        commit(writer, [Change("clock_confirmed", {"after": moment_text(writer.lines[-1].at)})])

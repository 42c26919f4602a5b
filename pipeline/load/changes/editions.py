"""Months and their editions, as the journal tells them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from pipeline.errors import DrainpoolError
from pipeline.load.database import store
from pipeline.load.database.writer import Writer, commit
from pipeline.load.truth.journal import Change, Line
from pipeline.load.truth.moments import is_open, month_end
from pipeline.load.truth.receipts import receipts_in
from pipeline.load.truth.records import EVERYTHING, Cutoff, Edition
from pipeline.load.views.reading import look
from pipeline.load.views.status import known_lines
from schemas.kinds.run import RUN
from schemas.trade.moments import moment_of, moment_text
from schemas.version import FIRST_VERSION, VERSION

SEEN_ON_PAGES = frozenset({"named", "set_aside", "kept", "erased"})
"""Changes that pages show though the same runs are in force."""
OF_EDITIONS = frozenset({"edition", "edition_remade", "edition_dropped", "published"})


def editions_in(lines: Sequence[Line], month: str) -> list[Edition]:
    """The editions of an ended month so far, oldest first."""
    made: list[Edition] = []
    for line in lines:
        if line.event not in OF_EDITIONS or line.payload["month"] != month:
            continue
        if line.event == "edition":
            if _counts(line):
                made.append(_edition(line))
        elif line.event == "edition_dropped":
            made = [one for one in made if one.line != line.payload["line"]]
        elif made and made[-1].number == line.payload["edition"]:
            remade = line.event == "edition_remade"
            made[-1] = (
                replace(made[-1], version=line.payload["drainpool"])
                if remade
                else replace(made[-1], published=True)
            )
    return made


def _counts(line: Line) -> bool:
    """Whether an edition's month had ended when it was made, once its moment was put right."""
    return line.stamped is None or line.at > month_end(line.payload["month"])


def _edition(line: Line) -> Edition:
    return Edition(
        month=line.payload["month"],
        number=line.payload["edition"],
        as_of=moment_of(line.payload["as_of"]),
        open=False,
        line=line.n,
        reason=(line.private or {}).get("reason"),
        erased=line.payload["erased"],
        version=line.payload.get("drainpool", FIRST_VERSION),
    )


def editions(pool: Path, month: str) -> list[Edition]:
    """The editions of an ended month so far, oldest first, from the readers' copy."""
    return editions_in(journal_lines(pool), month)


def shown_edition(made: Sequence[Edition]) -> Edition | None:
    """The edition that readers see: the last published one; None where none is."""
    return next((edition for edition in reversed(made) if edition.published), None)


def compared_with(lines: Sequence[Line], edition: Edition) -> Edition | None:
    """The edition that readers look back to: of the same month the last published before it, or its first; for a first
    edition what they see of the newest earlier month. None in a pool's first month."""
    own = [
        one for one in editions_in(lines, edition.month) if one.number < edition.number and not edition.open
    ]
    if own:
        return shown_edition(own) or own[0]
    earlier = {line.payload["month"] for line in lines if line.event == "edition"}
    for month in sorted((month for month in earlier if month < edition.month), reverse=True):
        made = editions_in(lines, month)
        if made:
            return shown_edition(made) or made[-1]
    return None


def cutoff_of(edition: Edition) -> Cutoff:
    """What an edition looks at. Edition 1: received, and known, up to the month's last second. Later ones:
    the same receipts, with everything that the journal holds before the edition's own line. An open month:
    everything that was known when it was begun."""
    if edition.open:
        return EVERYTHING if edition.known is None else Cutoff(known_before=edition.known + 1)
    end = month_end(edition.month)
    if edition.number == 1:
        return Cutoff(received_until=end, known_until=end, known_before=edition.line)
    return Cutoff(received_until=end, known_before=edition.line)


def begin_edition(writer: Writer, month: str, *, correct: bool = False, reason: str | None = None) -> Edition:
    """The edition that a run of the month makes: the newest again, or a new one where there is none yet, where
    `correct` asks for it, or where rows of the month were erased since the newest (then `erased` counts them).
    A month still running is edition 1, open, and not journalled; its `as_of` is the newest journal line's moment.

    Raises DrainpoolError for a month that has not begun, and for a correction of nothing."""
    now = writer.present()
    if month > now.strftime("%Y-%m"):
        raise DrainpoolError(f"{month} has not begun. Nothing was changed.")
    made = editions_in(writer.lines, month)
    if correct and not made:
        why = "is still running" if is_open(month, now) else "has no report yet"
        raise DrainpoolError(
            f"{month} {why}, so there is nothing to correct. Nothing was changed. "
            f"Type: drainpool month {month} --pool {writer.pool}"
        )
    if is_open(month, now):
        return Edition(month, 1, writer.lines[-1].at, open=True, line=None, known=writer.lines[-1].n)
    erased = erased_runs(writer.lines, month)
    if correct and made[-1].version == VERSION and nothing_changed(writer, made[-1]):
        if made[-1].published:
            raise DrainpoolError(
                f"Nothing of {month} has changed since edition {made[-1].number}: there is nothing to correct. Nothing was "
                "changed."
            )
        writer.say(
            f"Nothing of {month} has changed since the draft of edition {made[-1].number}: it is made again."
        )
        correct = False
    if made and not correct and erased == made[-1].erased:
        return made[-1] if made[-1].published else _remade(writer, made[-1])
    number = len(made) + 1
    as_of = month_end(month) if number == 1 else now
    if erased and number > 1 and reason is None:
        reason = "rows were erased"
    if made and made[-1].version != VERSION:
        changed = (
            f"The method changed: drainpool {VERSION} made this edition, {made[-1].version} the one before."
        )
        reason = changed if reason is None else f"{reason.strip().rstrip('.')}. {changed}"
    payload = {
        "month": month,
        "edition": number,
        "as_of": moment_text(as_of),
        "erased": erased,
        "drainpool": VERSION,
    }
    commit(writer, [Change("edition", payload, {"reason": reason})])
    return editions_in(writer.lines, month)[-1]


def _remade(writer: Writer, draft: Edition) -> Edition:
    """A draft that is made again; where an older drainpool made it before, the journal says so."""
    if draft.version != VERSION:
        payload = {"month": draft.month, "edition": draft.number, "drainpool": VERSION}
        commit(writer, [Change("edition_remade", payload)])
        writer.say(
            f"The draft of {draft.month} was drainpool {draft.version}'s; it is made again by {VERSION}."
        )
    return editions_in(writer.lines, draft.month)[-1]


def drop_edition(writer: Writer, edition: Edition) -> None:
    """Writes down that the month's newest edition was begun and never put in place: its number is free again."""
    payload = {"month": edition.month, "edition": edition.number, "line": edition.line}
    commit(writer, [Change("edition_dropped", payload)])


def nothing_changed(writer: Writer, edition: Edition) -> bool:
    """Whether a correction of the edition, begun now, would see just what the edition sees."""
    later = replace(edition, number=max(2, edition.number), line=writer.next_line())
    then, now = (look(writer.connection, writer.lines, cutoff_of(one)) for one in (edition, later))
    known = [known_lines(writer.lines, cutoff_of(one)) for one in (edition, later)]
    spoken = [[line.n for line in lines if line.event in SEEN_ON_PAGES] for lines in known]
    return then.runs.equals(now.runs) and then.held.equals(now.held) and spoken[0] == spoken[1]


def publish_edition(writer: Writer, month: str) -> Edition:
    """Marks the month's newest edition as published; it was a draft. Raises DrainpoolError where there is none."""
    made = editions_in(writer.lines, month)
    if not made:
        raise DrainpoolError(f"{month} has no finished report to publish. Nothing was changed.")
    if not made[-1].published:
        commit(writer, [Change("published", {"month": month, "edition": made[-1].number})])
    return editions_in(writer.lines, month)[-1]


def erased_runs(lines: Sequence[Line], month: str) -> int:
    """How many accepted runs have been erased from what was received up to the month's end."""
    erasures = [line for line in lines if line.event == "erased"]
    if not erasures:
        return 0
    receipts = receipts_in(lines)
    return sum(
        kept["erased_runs"]
        for line in erasures
        for number, kept in line.payload["receipts"].items()
        if receipts[int(number)].kind == RUN.name and receipts[int(number)].received <= month_end(month)
    )


def closed_until_in(lines: Sequence[Line]) -> datetime | None:
    """Last second of the latest ended month whose report has been made; nothing may be received before it."""
    ends = [month_end(line.payload["month"]) for line in lines if line.event == "edition" and _counts(line)]
    return max(ends, default=None)


def closed_until(pool: Path) -> datetime | None:
    """`closed_until_in` of the readers' copy; None for a folder that holds no pool yet."""
    if not (pool / store.PUBLISHED).exists():
        return None
    return closed_until_in(journal_lines(pool))


def settings_in(lines: Sequence[Line], month: str) -> dict[str, Any]:
    """The settings that hold for a month: the last written down by its last second; for months before the
    pool had any, its first ones (the last written down before anything was received)."""
    written = [line for line in lines if line.event == "settings"]
    if not written:
        raise DrainpoolError("The journal holds no settings. Restore the newest backup into another folder.")
    end = month_end(month)
    timely = [line for line in written if line.at <= end]
    if timely:
        return dict(timely[-1].payload["values"])
    first_use = min(
        (line.n for line in lines if line.event in ("received", "edition")), default=len(lines) + 1
    )
    first = [line for line in written if line.n < first_use] or written[:1]
    return dict(first[-1].payload["values"])


def settings_for(pool: Path, month: str) -> dict[str, Any]:
    """`settings_in` of the readers' copy."""
    return settings_in(journal_lines(pool), month)


def is_invented(pool: Path) -> bool:
    """Whether the pool was made from samples: every page of it must say so."""
    return any(line.payload["invented"] for line in journal_lines(pool) if line.event == "made")


def newest_line(pool: Path) -> int:
    """Number of the newest journal line that readers see."""
    with store.reading(pool) as connection:
        last = store.last_line(connection)
    return 0 if last is None else last[0]


def journal_lines(pool: Path) -> list[Line]:
    """The journal as readers see it."""
    with store.reading(pool) as connection:
        return store.lines_of(connection)

"""The pool's inbox: run sheets left there for the monthly job, each perhaps with its moment beside it.

`sheet.csv.received` beside `sheet.csv` holds the moment at which the sheet came in, as the desk wrote it
(`2026-03-14T09:26:53Z`), and perhaps a second line of JSON with the name that the sender gave the file.
Files leave the inbox only once the pool has their bytes in its archive.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from pipeline.errors import DrainpoolError
from pipeline.jobs.receiving.checking import now
from pipeline.jobs.receiving.sheets import (
    INBOX,
    MOMENT_ENDING,
    is_request,
    is_sheet_name,
    moment_file,
    read_sheet,
    sheets_in,
)
from pipeline.jobs.receiving.steps import LoadedBatch, Moment, load_batch
from pipeline.load.changes.editions import closed_until, editions
from pipeline.load.keeping.opening import is_pool
from pipeline.load.truth.moments import inbox_moment
from schemas.column import OwnHeadings
from schemas.trade.moments import moment_of


@dataclass(frozen=True)
class TakenIn:
    """Sheets taken out of the inbox: how many, their rows, how many could not be read or were left there.
    Sheets that the pool already held count among `sheets` only. `requests`: wishes from the desk carried out."""

    sheets: int = 0
    accepted: int = 0
    held: int = 0
    unreadable: int = 0
    left: int = 0
    requests: int = 0

    def __add__(self, other: TakenIn) -> TakenIn:
        return TakenIn(
            self.sheets + other.sheets,
            self.accepted + other.accepted,
            self.held + other.held,
            self.unreadable + other.unreadable,
            self.left + other.left,
            self.requests + other.requests,
        )


@dataclass(frozen=True)
class Beside:
    """What is written beside a sheet in the inbox: when it came in, what its sender called it, who sent it, what they
    said of own headings, and whether it takes the place of its whole series."""

    moment: datetime | None = None
    file: str | None = None
    by: str | None = None
    columns: OwnHeadings = ()
    whole_series: bool = False


def waiting(pool: Path, say: Callable[[str], None]) -> list[str]:
    """Names of the run sheets in the inbox, in order; says which other files are left lying there."""
    folder = pool / INBOX
    if not folder.is_dir():
        return []
    for path in sorted(folder.iterdir()):
        ours = path.name.startswith(".") or path.name.endswith(MOMENT_ENDING) or is_request(path.name)
        if not ours and not (path.is_file() and is_sheet_name(path)):
            say(f"Left in the inbox: {path.name} is no run sheet (.csv, .tsv, .txt, .xlsx).")
    return [path.name for path in sheets_in(folder)]


def take_in(
    pool: Path, names: Sequence[str], month: str, by_whom: str, say: Callable[[str], None]
) -> TakenIn:
    """Loads these files of the inbox, then removes from the inbox what the pool has taken."""
    folder = pool / INBOX
    beside, broken = _notes_beside(folder, names, say)
    names, notes = list(beside), list(beside.values())
    sheets = [
        replace(
            read_sheet(folder / name, note.file or name),
            columns=note.columns,
            whole_series=note.whole_series,
        )
        for name, note in zip(names, notes, strict=True)
    ]
    moments = moments_of(pool, notes, month)
    for name, note, moment in zip(names, notes, moments, strict=True):
        if moment.note and note.moment is None:
            say(f"{name}: {moment.note}")
    batch = load_batch(pool, sheets, moments, by_whom, say, places=[folder / name for name in names])
    opened = [name for name, sheet in zip(names, sheets, strict=True) if sheet.content is not None]
    for name, outcome in ((opened[outcome.file_id], outcome) for outcome in batch.outcomes):
        if outcome.refused is not None:
            say(f"Left in the inbox: {name}: {outcome.refused}")
            continue
        (folder / name).unlink(missing_ok=True)
        moment_file(folder / name).unlink(missing_ok=True)
    left = [
        (name, sheet)
        for name, sheet in zip(names, sheets, strict=True)
        if sheet.content is None and (folder / name).exists()
    ]
    for name, sheet in left:
        say(f"Left in the inbox: {name}: {sheet.missing}.")
    return taken_in(batch, left=len(left) + broken)


def _notes_beside(
    folder: Path, names: Sequence[str], say: Callable[[str], None]
) -> tuple[dict[str, Beside], int]:
    """What is written beside each sheet, and how many sheets stay where they are because that can't be read: one
    broken neighbour stops its own sheet only."""
    beside = {}
    for name in names:
        try:
            beside[name] = read_beside(folder / name)
        except DrainpoolError as error:
            say(f"Left in the inbox: {name}: {error}")
    return beside, len(names) - len(beside)


def moments_of(pool: Path, notes: Sequence[Beside], month: str) -> list[Moment]:
    """When each file of the inbox counts as received, in a run of this month."""
    known = is_pool(pool)
    closed = closed_until(pool) if known else None
    first_run = not (known and editions(pool, month))
    at = now()
    return [_moment(note, *inbox_moment(note.moment, month, at, closed, first_run)) for note in notes]


def _moment(note: Beside, received: datetime, sentence: str | None) -> Moment:
    """The moment of a sheet; its receipt says who sent it at the desk."""
    said = [one for one in (f"Sent at the desk by {note.by}." if note.by else None, sentence) if one]
    return Moment(received, " ".join(said) or None)


def taken_in(batch: LoadedBatch, left: int = 0) -> TakenIn:
    """A loaded batch in numbers."""
    fresh = [one for one in batch.outcomes if one.refused is None and not one.already_loaded]
    refused = sum(one.refused is not None for one in batch.outcomes)
    return TakenIn(
        sheets=len(batch.outcomes) - refused,
        accepted=sum(one.accepted for one in fresh),
        held=sum(one.held for one in fresh),
        unreadable=sum(not one.readable for one in fresh),
        left=left + refused,
    )


def read_beside(path: Path) -> Beside:
    """What is written beside a sheet; nothing where there is no such file. DrainpoolError where it can't be read."""
    beside = moment_file(path)
    try:
        first, _, rest = beside.read_text(encoding="utf-8", errors="replace").partition("\n")
    except FileNotFoundError:
        return Beside()  # none was written, or another run has just taken the sheet in
    try:
        told = json.loads(rest) if rest.strip() else {}
        file, by = (told["file"], told.get("by")) if told else (None, None)
        columns = tuple(told.get("columns", {}).items())
        texts = [text for text in (file, by) if text is not None] + [
            name for pair in columns for name in pair
        ]
        if not all(isinstance(text, str) for text in texts):
            raise TypeError
        return Beside(moment_of(first.strip()), file, by, columns, told.get("whole_series", False) is True)
    except (ValueError, KeyError, TypeError, AttributeError):
        raise DrainpoolError(
            f"{beside.name} beside it should begin with a moment like 2026-03-14T09:26:53Z, not “{first[:40]}”, with one "
            "line of JSON below it at most. Mend or delete that small file and run the month again."
        ) from None

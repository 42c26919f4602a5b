"""The pool's inbox: run sheets left there for the monthly job, each perhaps with its moment beside it.

`sheet.csv.received` beside `sheet.csv` holds the moment at which the sheet came in, as the desk wrote it
(`2026-03-14T09:26:53Z`). Files leave the inbox only once the pool has their bytes in its archive.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pipeline.errors import DrainpoolError
from pipeline.jobs.checking import now
from pipeline.jobs.receive import LoadedBatch, Moment, load_batch
from pipeline.jobs.sheets import is_sheet_name, read_sheet, sheets_in
from pipeline.load.moments import inbox_moment
from pipeline.load.steps import closed_until, editions, is_pool

INBOX = "inbox"
MOMENT_ENDING = ".received"


@dataclass(frozen=True)
class TakenIn:
    """Sheets taken out of the inbox: how many, their rows, how many could not be read or were left there.
    Sheets that the pool already held count among `sheets` only."""

    sheets: int = 0
    accepted: int = 0
    held: int = 0
    unreadable: int = 0
    left: int = 0

    def __add__(self, other: TakenIn) -> TakenIn:
        return TakenIn(
            self.sheets + other.sheets,
            self.accepted + other.accepted,
            self.held + other.held,
            self.unreadable + other.unreadable,
            self.left + other.left,
        )


def waiting(pool: Path, say: Callable[[str], None]) -> list[str]:
    """Names of the run sheets in the inbox, in order; says which other files are left lying there."""
    folder = pool / INBOX
    if not folder.is_dir():
        return []
    for path in sorted(folder.iterdir()):
        beside_a_sheet = path.name.endswith(MOMENT_ENDING)
        if not path.name.startswith(".") and not beside_a_sheet and not (path.is_file() and is_sheet_name(path)):
            say(f"Left in the inbox: {path.name} is no run sheet (.csv, .tsv, .txt, .xlsx).")
    return [path.name for path in sheets_in(folder)]


def take_in(pool: Path, names: Sequence[str], month: str, by_whom: str, say: Callable[[str], None]) -> TakenIn:
    """Loads these files of the inbox, then removes from the inbox what the pool has taken."""
    folder = pool / INBOX
    sheets = [read_sheet(folder / name, name) for name in names]
    opened = [sheet for sheet in sheets if sheet.content is not None]
    batch = load_batch(pool, opened, moments_of(pool, [sheet.name for sheet in opened], month), by_whom, say)
    for sheet in sheets:
        if sheet.content is None:
            say(f"Left in the inbox: {sheet.name}: {sheet.missing}.")
    for outcome in batch.outcomes:
        if outcome.refused is not None:
            say(f"Left in the inbox: {outcome.name}: {outcome.refused}")
            continue
        (folder / outcome.name).unlink(missing_ok=True)
        moment_file(folder / outcome.name).unlink(missing_ok=True)
    return taken_in(batch, left=len(sheets) - len(opened))


def moments_of(pool: Path, names: Sequence[str], month: str) -> list[Moment]:
    """When each file of the inbox counts as received, in a run of this month."""
    known = is_pool(pool)
    closed = closed_until(pool) if known else None
    first_run = not (known and editions(pool, month))
    written = [written_moment(pool / INBOX / name) for name in names]
    return [Moment(*inbox_moment(one, month, now(), closed, first_run)) for one in written]


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


def moment_file(path: Path) -> Path:
    """Where the moment of a sheet in the inbox is written."""
    return path.with_name(path.name + MOMENT_ENDING)


def written_moment(path: Path) -> datetime | None:
    """The moment written beside a sheet, or None where there is none. DrainpoolError where it is no moment."""
    beside = moment_file(path)
    if not beside.exists():
        return None
    text = beside.read_text(encoding="utf-8").strip()
    try:
        return datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
    except ValueError:
        raise DrainpoolError(
            f"{beside} should hold a moment like 2026-03-14T09:26:53Z, not “{text[:40]}”. "
            "Nothing was taken in; mend or delete that small file and run the month again."
        ) from None

"""Keeping a pool for years: make its store again, look whether everything still agrees, back it up, list what waits."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any, TypedDict, cast

import polars as pl

from pipeline.jobs.decisions.waiting import question_about
from pipeline.jobs.keeping.files_kept import file_findings
from pipeline.jobs.month.figures import figures
from pipeline.jobs.month.files.folder import REPORTS, RESULTS, month_folder
from pipeline.jobs.month.files.older import pages_of
from pipeline.jobs.month.results_file import as_bytes
from pipeline.jobs.receiving.checking import now, recheck
from pipeline.jobs.receiving.lost_receipts import make_lost_receipts
from pipeline.load.changes.editions import editions_in, erased_runs
from pipeline.load.database.upgrade import read_differently
from pipeline.load.keeping import backing_up, rebuilding
from pipeline.load.keeping.opening import locked_journal, writing
from pipeline.load.keeping.rebuilding import Rebuilt
from pipeline.load.keeping.verifying import Finding, journal_findings, member_keys, store_findings
from pipeline.load.truth.journal import Line
from pipeline.load.truth.receipts import Receipt
from pipeline.load.truth.records import Edition
from pipeline.load.views.reading import held_rows, runs_waiting
from schemas.trade.labels import label_key
from schemas.version import VERSION

Say = Callable[[str], None]
AGREE_WITHIN = 1e-5
FAR = "it differs from what the pool gives"
NEAR = (
    f"it agrees with what the pool gives to {AGREE_WITHIN:g}, not to the last digit: other libraries made it"
)


def rebuild_pool(pool: Path, say: Say) -> Rebuilt:
    """Makes the store again from archive and journal, and the private receipts that are not there."""
    rebuilt = rebuilding.rebuild(pool, recheck=recheck, say=say)
    with locked_journal(pool, say) as lines:
        receipts = make_lost_receipts(pool, lines)
    if receipts:
        say(
            f"{receipts} private receipt{'s were' if receipts != 1 else ' was'} missing; made again from the archive."
        )
    return rebuilt


def backup_pool(pool: Path, file: Path, say: Say) -> int:
    """Writes everything that can't be made again into one file; answers its size in bytes. Raises DrainpoolError where
    something of that is damaged: nothing is written then."""
    return backing_up.backup(pool, file, say=say)


def restore_pool(file: Path, pool: Path, say: Say) -> Rebuilt:
    """Makes the pool of a backup in a missing or empty folder."""
    return backing_up.restore_backup(file, pool, recheck=recheck, say=say)


def verify_pool(pool: Path, by_whom: str, say: Say, reread: bool = False) -> list[Finding]:
    """Walks journal, archive, store, readers' copy, reports, receipts, mails, the flow's records and every finished
    month's `results.json`; all that disagrees, and notes on what was erased. A journal that does not agree with itself is told at once, alone."""
    say("Reading the journal.")
    found = journal_findings(pool) if (pool / "journal.jsonl").exists() else []
    if found:
        return found
    with writing(pool, by=by_whom, clock=now, settings=None, recheck=recheck, say=say, make=False) as writer:
        found = store_findings(writer, say)
        if reread:
            say("Reading every sheet by today's rules.")
            found += [_read_differently(receipt) for receipt in read_differently(pool, writer.lines, recheck)]
        lines, members = list(writer.lines), member_keys(writer)
    if any(one.damage for one in found):
        return found
    say("Reading reports, receipts and mails.")
    found += file_findings(pool, lines, members)
    say("Making finished months again.")
    return found + [finding for month in _months(lines) for finding in _month(pool, lines, month)]


def _read_differently(receipt: Receipt) -> Finding:
    name = f"{receipt.file or 'a sheet'} (submission {receipt.submission[:12]}), received {receipt.received:%Y-%m-%d}"
    words = "today's rules would read it differently; the pool keeps it as it was read. Ask the member if it matters"
    return Finding(name, words, damage=False)


def _months(lines: list[Line]) -> list[str]:
    return sorted({line.payload["month"] for line in lines if line.event == "edition"})


def _month(pool: Path, lines: list[Line], month: str) -> Iterator[Finding]:
    """What is to be said of the files of a finished month."""
    for edition in editions_in(lines, month):
        path = _results_path(pool, edition)
        place = f"{REPORTS}/{month}, edition {edition.number}"
        if path is None:
            yield Finding(
                place, f"its {RESULTS} is not there; drainpool month {month} makes it", damage=False
            )
        elif edition.version != VERSION:
            yield Finding(place, f"drainpool {edition.version} made it; it stands as it is", damage=False)
        elif erased_runs(lines, month) != edition.erased:
            yield Finding(place, "made before rows of it were erased; it can't be made again", damage=False)
        else:
            words = _compared(path.read_bytes(), as_bytes(figures(pool, edition).results))
            if words is not None:
                yield Finding(place, words, damage=words == FAR)


def _results_path(pool: Path, edition: Edition) -> Path | None:
    place = pages_of(month_folder(pool, edition.month), edition.number)
    return None if place is None else place / RESULTS


def _compared(kept: bytes, again: bytes) -> str | None:
    """None for the same bytes; else how far the two values are apart, in words."""
    if kept == again:
        return None
    try:
        return NEAR if agree(json.loads(kept), json.loads(again)) else FAR
    except ValueError:
        return FAR


def agree(one: Any, other: Any) -> bool:
    """Whether two values of `results.json` are the same but for numbers that differ by less than 1e-5."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(agree(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(agree, one, other))
    if _number(one) and _number(other):
        return math.isclose(one, other, rel_tol=AGREE_WITHIN, abs_tol=AGREE_WITHIN)
    return type(one) is type(other) and bool(one == other)


def _number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


class WaitingRow(TypedDict):
    """A row that waits for a mended sheet, or a whole sheet that could not be read (`sheet_row` None)."""

    member: str | None
    file: str
    received: datetime
    sheet_row: int | None
    message: str
    submission: str


class WaitingRun(TypedDict):
    """An accepted run that waits for an answer: where it stands, and what is asked."""

    member: str
    series: str
    submission: str
    sheet_row: int
    rule: str
    question: str


def runs_that_wait(pool: Path) -> list[WaitingRun]:
    """The accepted runs that are counted nowhere until they are kept, mended or set aside, by member and series."""
    return [
        {
            "member": run["member"],
            "series": run["series"],
            "submission": run["submission"],
            "sheet_row": run["sheet_row"],
            "rule": run["rule"],
            "question": question_about(run),
        }
        for run in runs_waiting(pool).iter_rows(named=True)
    ]


def waiting_by_member(pool: Path) -> list[WaitingRow]:
    """What waits for somebody, by member; rows that name no member last; a member's code as first spelled.
    A later sheet that mends a row takes it off this list."""
    held = held_rows(pool).filter("waits").sort("received", "file", "sheet_row", nulls_last=True)
    spelled: dict[str, str] = {}
    for code in held["member"].drop_nulls():
        spelled.setdefault(label_key(code), code)
    shown = [None if code is None else spelled[label_key(code)] for code in held["member"]]
    rows = (
        held.with_columns(member=pl.Series(shown, dtype=pl.String))
        .select("member", "file", "received", "sheet_row", "message", "submission")
        .sort(pl.col("member").str.to_lowercase(), nulls_last=True, maintain_order=True)
    )
    return [cast(WaitingRow, row) for row in rows.iter_rows(named=True)]

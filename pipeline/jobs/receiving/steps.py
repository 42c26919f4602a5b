"""Receiving sheets: check, load, a private receipt for each. `load` and the month use the same steps.

`check_for_loading` is pure and may run in another process; `load_checked` writes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pipeline.atomic_write import write_whole
from pipeline.check.steps import Checked
from pipeline.jobs.own_result.others import OtherGrowers
from pipeline.jobs.own_result.steps import own_results
from pipeline.jobs.receiving.checking import (
    SETTINGS_FILE,
    CheckedBatch,
    check_for_loading,
    now,
    pool_settings,
    recheck,
)
from pipeline.jobs.receiving.receipts import each_text_receipt
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.load.changes.receiving import receive
from pipeline.load.database.writer import Writer
from pipeline.load.keeping.opening import is_pool, writing
from pipeline.load.truth.moments import received_on
from pipeline.load.truth.records import Arrival, Outcome
from pipeline.settings import settings_text
from schemas.receipt import LoadKeys, SeriesResult

RECEIPTS = "receipts"


@dataclass(frozen=True)
class Moment:
    """When a sheet counts as received; None is the moment at which it is written down."""

    received: datetime | None = None
    note: str | None = None


@dataclass(frozen=True)
class LoadedBatch:
    """A batch after loading: what the check found, what became of each file, and by file_id its own results."""

    checked: Checked
    outcomes: tuple[Outcome, ...]
    results: dict[int, list[SeriesResult]]

    @property
    def notes(self) -> dict[int, list[str]]:
        """Lines for the receipt of each file, by file_id."""
        return {outcome.file_id: receipt_lines(outcome) for outcome in self.outcomes}

    @property
    def in_pool(self) -> dict[int, Sequence[str]]:
        """What the pool had of each file, by file_id."""
        return {outcome.file_id: outcome.notes for outcome in self.outcomes}

    @property
    def refused(self) -> dict[int, str]:
        """Why a file was not received, by file_id."""
        return {outcome.file_id: outcome.refused for outcome in self.outcomes if outcome.refused is not None}

    @property
    def load_keys(self) -> dict[int, LoadKeys]:
        """What became of each file, by file_id."""
        return {outcome.file_id: _load_keys(outcome) for outcome in self.outcomes}


@contextmanager
def pool_writer(
    pool: Path, by_whom: str, say: Callable[[str], None], make: bool = True, invented: bool = False
) -> Iterator[Writer]:
    """The pool opened for this one writer. Where the folder is missing or empty it is made first, or with
    `make` False refused; a pool made `invented` says so on every page from then on."""
    values = pool_settings(pool).as_values()
    new = make and not is_pool(pool)
    with writing(
        pool, by=by_whom, clock=now, settings=values, recheck=recheck, say=say, make=make, invented=invented
    ) as writer:
        if new and not (pool / SETTINGS_FILE).exists():
            write_whole(pool / SETTINGS_FILE, settings_text().encode())
        yield writer


def received_moment(typed: str | None) -> datetime | None:
    """The moment that `--received` gives to every file; None without it. Whether a report already covers
    that moment is asked for each file when it is received."""
    return None if typed is None else received_on(typed, now(), closed=None)


def load_batch(
    pool: Path,
    sheets: Sequence[Sheet],
    moments: Sequence[Moment],
    by_whom: str,
    say: Callable[[str], None],
    whole_series: bool = False,
    others: OtherGrowers | None = None,
) -> LoadedBatch:
    """Checks the sheets here and now and loads them; see `load_checked`."""
    batch = check_for_loading(sheets, pool_settings(pool), now().date())
    return load_checked(pool, batch, moments, by_whom, say, whole_series, others)


def load_checked(
    pool: Path,
    batch: CheckedBatch,
    moments: Sequence[Moment],
    by_whom: str,
    say: Callable[[str], None],
    whole_series: bool = False,
    others: OtherGrowers | None = None,
) -> LoadedBatch:
    """Adds the accepted rows of checked sheets to the pool, all in one transaction; keeps the receipt of each new
    sheet in `receipts/`. `moments` has one for each sheet. A batch that was checked on another day or with other
    settings than the pool has now is checked again first. `others`: what the own results are set beside."""
    settings, today = pool_settings(pool), now().date()
    if (batch.settings, batch.day) != (settings, today):
        batch = check_for_loading(batch.sheets, settings, today)
    checked = batch.checked
    opened = [
        (sheet, moment)
        for sheet, moment in zip(batch.sheets, moments, strict=True)
        if sheet.content is not None
    ]
    arrivals = [
        Arrival(at, sheet.name, sheet.content or b"", moment.received, moment.note, columns=sheet.columns)
        for at, (sheet, moment) in enumerate(opened)
    ]
    if not arrivals:
        return LoadedBatch(checked, (), {})
    with pool_writer(pool, by_whom, say) as writer:
        outcomes = tuple(receive(writer, arrivals, checked, whole_series=whole_series))
    loaded = LoadedBatch(checked, outcomes, own_results(checked, settings, others))
    keep_receipts(pool, loaded)
    return loaded


def _load_keys(outcome: Outcome) -> LoadKeys:
    keys: LoadKeys = {"submission": outcome.submission, "already_loaded": outcome.already_loaded}
    if outcome.refused is not None:
        keys["refused"] = outcome.refused
    return keys


def receipt_lines(outcome: Outcome) -> list[str]:
    """What a receipt says of one file beyond its rows: mended, or already there."""
    lines = list(outcome.notes)
    if outcome.already_loaded:
        day = f" on {outcome.received:%Y-%m-%d}" if outcome.received else ""
        lines.append(f"This very file was received before{day}. Nothing was changed.")
    return lines


def keep_receipts(pool: Path, batch: LoadedBatch) -> None:
    """Writes the text receipt of each newly received file to `receipts/YYYY-MM/`; these are private."""
    told = {outcome.file_id: outcome for outcome in batch.outcomes}
    for file_id, text in each_text_receipt(batch.checked, batch.results, batch.notes):
        outcome = told[file_id]
        if outcome.receipt is None or outcome.already_loaded or outcome.received is None:
            continue
        folder = pool / RECEIPTS / f"{outcome.received:%Y-%m}"
        folder.mkdir(parents=True, exist_ok=True)
        name = f"{outcome.receipt:06d}-{outcome.submission[:12]}.txt"
        write_whole(folder / name, text.encode("utf-8", "surrogatepass"))

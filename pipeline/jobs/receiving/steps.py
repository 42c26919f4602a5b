"""Receiving sheets: check, load, a private receipt for each. `load` and the month use the same steps.

`check_for_loading` is pure and may run in another process; `load_checked` writes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from itertools import repeat
from pathlib import Path

from pipeline.atomic_write import write_whole
from pipeline.check.steps import Checked
from pipeline.check.waits import beside_a_pool
from pipeline.errors import OlderPoolError
from pipeline.jobs.own_result.others import OtherGrowers, other_growers
from pipeline.jobs.own_result.steps import own_results
from pipeline.jobs.receiving.checking import (
    SETTINGS_FILE,
    CheckedBatch,
    check_for_loading,
    now,
    pool_settings,
    recheck,
)
from pipeline.jobs.receiving.receipts import each_text_receipt, receipt_place, write_receipt
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.load.changes.receiving import receive
from pipeline.load.database.writer import Writer
from pipeline.load.keeping.opening import is_pool, writing
from pipeline.load.truth.moments import received_on
from pipeline.load.truth.receipts import Receipt, receipts_in
from pipeline.load.truth.records import Arrival, Outcome
from pipeline.load.views.preview import of_files
from pipeline.load.views.reading import waiting_now
from pipeline.settings import settings_text
from schemas.receipt import LoadKeys, SeriesResult


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


def growers_to_compare(pool: Path, by_whom: str, say: Callable[[str], None]) -> OtherGrowers | None:
    """What the own results of a load are set beside, as the pool stands before it; None where there is no pool yet. A
    pool of an older version is brought up first, since the load writes anyway."""
    try:
        return other_growers(pool, pool_settings(pool))
    except OlderPoolError:
        with pool_writer(pool, by_whom, say, make=False):
            pass
        return other_growers(pool, pool_settings(pool))


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
    places: Sequence[Path] | None = None,
) -> LoadedBatch:
    """Checks the sheets here and now and loads them; see `load_checked`."""
    batch = check_for_loading(sheets, pool_settings(pool), now().date())
    return load_checked(pool, batch, moments, by_whom, say, whole_series, others, places)


def load_checked(
    pool: Path,
    batch: CheckedBatch,
    moments: Sequence[Moment],
    by_whom: str,
    say: Callable[[str], None],
    whole_series: bool = False,
    others: OtherGrowers | None = None,
    places: Sequence[Path] | None = None,
) -> LoadedBatch:
    """Adds the accepted rows of checked sheets to the pool, all in one transaction; keeps the receipt of each new
    sheet in `receipts/`. `moments` has one for each sheet. A batch that was checked on another day or with other
    settings than the pool has now is checked again first. `others`: what the own results are set beside. `places`: where
    each sheet lies in the inbox; one that somebody took away meanwhile (an erasure, another run) is not received."""
    settings, today = pool_settings(pool), now().date()
    if (batch.settings, batch.day) != (settings, today):
        batch = check_for_loading(batch.sheets, settings, today)
    checked = batch.checked
    opened = [
        (sheet, moment, place)
        for sheet, moment, place in zip(
            batch.sheets, moments, places or repeat(None, len(moments)), strict=True
        )
        if sheet.content is not None
    ]
    if not opened:
        return LoadedBatch(checked, (), {})
    with pool_writer(pool, by_whom, say) as writer:
        arrivals = [
            Arrival(
                at,
                sheet.name,
                sheet.content or b"",
                moment.received,
                moment.note,
                columns=sheet.columns,
                whole_series=whole_series or sheet.whole_series,
            )
            for at, (sheet, moment, place) in enumerate(opened)
            if place is None or place.exists()
        ]
        outcomes = tuple(receive(writer, arrivals, checked)) if arrivals else ()
        checked = beside_a_pool(checked, of_files(waiting_now(writer.connection, writer.lines), checked))
        loaded = LoadedBatch(checked, outcomes, own_results(checked, settings, others))
        keep_receipts(pool, loaded, receipts_in(writer.lines))
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


def keep_receipts(pool: Path, batch: LoadedBatch, received: Mapping[int, Receipt]) -> None:
    """Writes the text receipt of each newly received file to `receipts/YYYY-MM/`, and of one received before whose
    receipt was lost; these are private. Where the disk is full those written go again. `received`: by number."""
    told = {outcome.file_id: outcome for outcome in batch.outcomes if outcome.receipt is not None}
    notes = {file_id: received[outcome.receipt or 0].notes for file_id, outcome in told.items()}
    laid: list[Path] = []
    try:
        for file_id, text in each_text_receipt(batch.checked, batch.results, notes):
            if file_id not in told:
                continue
            path = receipt_place(pool, received[told[file_id].receipt or 0])
            if not (told[file_id].already_loaded and path.exists()):
                laid.append(path)
                write_receipt(path, text)
    except OSError:
        for path in laid:
            path.unlink(missing_ok=True)
        raise

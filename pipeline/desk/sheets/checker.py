"""Checks sheets as they come in. Sheets that arrive together are checked together, one batch at a time.

The check stage has a fixed cost for every batch, small or large: fifty sheets in one batch take little longer
than one. One worker also bounds the memory.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool

from pipeline.jobs.receiving.sheets import Sheet

MOST_SHEETS, MOST_BYTES = 64, 8_000_000


@dataclass(frozen=True)
class Finding:
    """What was found in one sheet. `receipt` in the shape of `check --format json`, for this file; `readings`:
    column, as typed, as read; `in_pool`: what the pool already has of it; `members`: codes in the sheet."""

    receipt: dict[str, Any]
    readable: bool
    submission: str
    readings: list[tuple[str, str, str]] = field(default_factory=list)
    in_pool: list[str] = field(default_factory=list)
    members: list[str] = field(default_factory=list)


Look = Callable[[Sequence[Sheet], date], list[Finding]]


class Checker:
    """The one worker that checks. `look` checks a batch; it runs beside the event loop."""

    def __init__(self, look: Look, clock: Callable[[], datetime]) -> None:
        self._look, self._clock = look, clock
        self._waiting: list[tuple[Sheet, asyncio.Future[Finding]]] = []
        self._worker: asyncio.Task[None] | None = None

    async def check(self, sheet: Sheet) -> Finding:
        """What is found in this sheet, once its turn has come."""
        answer: asyncio.Future[Finding] = asyncio.get_running_loop().create_future()
        self._waiting.append((sheet, answer))
        if self._worker is None or self._worker.done():
            self._worker = asyncio.create_task(self._work())
        return await answer

    async def check_alone(self, sheet: Sheet) -> Finding:
        """What is found in a big sheet, beside the batches of small ones, so that nobody waits behind it."""
        return (await run_in_threadpool(self._look, [sheet], self._clock().date()))[0]

    def warm(self) -> None:
        """Looks at an empty sheet once, so that the first member does not wait for what is loaded only then."""
        self._look([Sheet("nothing.csv", b"member\n")], self._clock().date())

    async def _work(self) -> None:
        while self._waiting:
            batch = self._next()
            try:
                found = await run_in_threadpool(
                    self._look, [sheet for sheet, _ in batch], self._clock().date()
                )
            except Exception as error:
                await self._one_by_one(batch, error)
                continue
            for (_, answer), finding in zip(batch, found, strict=True):
                if not answer.done():
                    answer.set_result(finding)

    async def _one_by_one(self, batch: list[tuple[Sheet, asyncio.Future[Finding]]], error: Exception) -> None:
        """A batch that broke: each sheet again alone, so that one can't spoil the others'."""
        for sheet, answer in batch:
            if answer.done():
                continue
            try:
                if len(batch) == 1:
                    raise error
                found = await run_in_threadpool(self._look, [sheet], self._clock().date())
                answer.set_result(found[0])
            except Exception as its_own:
                answer.set_exception(its_own)

    def _next(self) -> list[tuple[Sheet, asyncio.Future[Finding]]]:
        taken = size = 0
        for sheet, _ in self._waiting[:MOST_SHEETS]:
            size += len(sheet.content or b"")
            if taken and size > MOST_BYTES:
                break
            taken += 1
        batch, self._waiting = self._waiting[:taken], self._waiting[taken:]
        return batch


def look_with(pool: Path) -> Look:
    """The look that checks with a pool's settings and says what that pool already has."""

    def look(sheets: Sequence[Sheet], today: date) -> list[Finding]:
        from pipeline.check.receipt import as_json_value
        from pipeline.jobs.receiving.checking import pool_settings
        from pipeline.jobs.receiving.readings import check_and_read_back
        from pipeline.load.steps import is_pool, preview

        checked, readings = check_and_read_back(sheets, pool_settings(pool), today)
        in_pool = preview(pool, checked) if is_pool(pool) else {}
        receipts = as_json_value(checked)["files"]
        members = _members(checked)
        return [
            Finding(
                receipt=receipts[at],
                readable=row["readable"],
                submission=row["submission"],
                readings=[(one.column, one.typed, one.read) for one in readings.get(row["file_id"], [])],
                in_pool=list(in_pool.get(row["file_id"], ())),
                members=members.get(row["file_id"], []),
            )
            for at, row in enumerate(checked.files.iter_rows(named=True))
        ]

    return look


def _members(checked: Any) -> dict[int, list[str]]:
    """Every member code that a sheet names, in accepted rows and, where it can be read, in held ones."""
    import polars as pl

    named = pl.concat(
        [
            checked.accepted.select("file_id", "member"),
            checked.held.select("file_id", pl.col("cells").str.json_path_match("$.member").alias("member")),
        ]
    ).drop_nulls()
    found = named.unique(maintain_order=True).group_by("file_id", maintain_order=True).agg("member")
    return {row["file_id"]: row["member"] for row in found.iter_rows(named=True)}

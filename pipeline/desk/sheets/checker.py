"""Checks sheets as they come in. Sheets that arrive together are checked together, one batch at a time.

The check stage has a fixed cost for every batch, small or large: fifty sheets in one batch take little longer
than one. One worker also bounds the memory.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from datetime import date, datetime
from functools import partial
from pathlib import Path

from starlette.concurrency import run_in_threadpool

from pipeline.jobs.own_result.others import OtherGrowers
from pipeline.jobs.receiving.page_check import CheckedSheet, check_for_page
from pipeline.jobs.receiving.sheets import Sheet

MOST_SHEETS, MOST_BYTES = 64, 8_000_000


Check = Callable[[Sequence[Sheet], date], list[CheckedSheet]]


class Checker:
    """The one worker that checks. `check_batch` checks a batch; it runs beside the event loop."""

    def __init__(self, check_batch: Check, clock: Callable[[], datetime]) -> None:
        self._check_batch, self._clock = check_batch, clock
        self._waiting: list[tuple[Sheet, asyncio.Future[CheckedSheet]]] = []
        self._worker: asyncio.Task[None] | None = None

    async def check(self, sheet: Sheet) -> CheckedSheet:
        """What the check finds in this sheet, once the batches before it are done."""
        answer: asyncio.Future[CheckedSheet] = asyncio.get_running_loop().create_future()
        self._waiting.append((sheet, answer))
        if self._worker is None or self._worker.done():
            self._worker = asyncio.create_task(self._work())
        return await answer

    async def check_alone(self, sheet: Sheet) -> CheckedSheet:
        """What the check finds in a big sheet, run beside the batches of small ones, so that nobody waits for it."""
        return (await run_in_threadpool(self._check_batch, [sheet], self._clock().date()))[0]

    def warm(self) -> None:
        """Checks an empty sheet once, so that the first member does not wait while libraries load."""
        self._check_batch([Sheet("nothing.csv", b"member\n")], self._clock().date())

    async def _work(self) -> None:
        while self._waiting:
            batch = self._next()
            try:
                checked = await run_in_threadpool(
                    self._check_batch, [sheet for sheet, _ in batch], self._clock().date()
                )
            except Exception as error:
                await self._one_by_one(batch, error)
                continue
            for (_, answer), result in zip(batch, checked, strict=True):
                if not answer.done():
                    answer.set_result(result)

    async def _one_by_one(
        self, batch: list[tuple[Sheet, asyncio.Future[CheckedSheet]]], error: Exception
    ) -> None:
        """A batch that broke: each sheet again alone, so that one can't spoil the others'."""
        for sheet, answer in batch:
            if answer.done():
                continue
            try:
                if len(batch) == 1:
                    raise error
                checked = await run_in_threadpool(self._check_batch, [sheet], self._clock().date())
                answer.set_result(checked[0])
            except Exception as its_own:
                answer.set_exception(its_own)

    def _next(self) -> list[tuple[Sheet, asyncio.Future[CheckedSheet]]]:
        taken = size = 0
        for sheet, _ in self._waiting[:MOST_SHEETS]:
            size += len(sheet.content or b"")
            if taken and size > MOST_BYTES:
                break
            taken += 1
        batch, self._waiting = self._waiting[:taken], self._waiting[taken:]
        return batch


def check_with(pool: Path, others: Callable[[], OtherGrowers | None]) -> Check:
    """The check of a batch with this pool's settings, which also says what the pool already has and where the own
    results lie among `others`."""
    return partial(check_for_page, pool, others)

"""Reads the pool for the desk: from the readers' copy only, each result kept until the next copy is published."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping, Sequence
from datetime import date
from pathlib import Path
from threading import Lock
from typing import Any, TypeVar, cast

import polars as pl

from pipeline.jobs.own_result.contrasts import fresh_contrasts
from pipeline.jobs.own_result.others import OtherGrowers
from pipeline.jobs.pool_view import View, is_invented, is_pool, newest_copy, view
from pipeline.jobs.query.part import Part
from pipeline.jobs.query.steps import QueryResult, answer, answer_for_everyone
from pipeline.jobs.receiving.accepted_rows import accepted_rows, sheets_waiting
from pipeline.jobs.receiving.checking import pool_settings

Seen = TypeVar("Seen")
MOST_KEPT = 24
EMPTY = View(
    runs=pl.DataFrame(),
    held=pl.DataFrame(),
    waiting=pl.DataFrame(),
    receipts=pl.DataFrame(),
    counts=dict.fromkeys(("members", "series", "runs", "held", "waits", "receipts"), 0),
)


class PoolReader:
    """Reads one pool and keeps the newest few results. The first call is slow: call the methods off the event loop."""

    def __init__(self, pool: Path) -> None:
        self.pool = pool
        self._turn = Lock()
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()
        self._invented: bool | None = None

    @property
    def there(self) -> bool:
        """Whether the folder holds a pool yet."""
        return is_pool(self.pool) and newest_copy(self.pool) is not None

    @property
    def invented(self) -> bool:
        """Whether the pool was made from the invented samples; that never changes."""
        if self._invented is None and self.there:
            self._invented = is_invented(self.pool)
        return bool(self._invented)

    def view(self) -> View:
        """The runs in force, held rows and receipts of now; empty where there is no pool yet."""
        return self._once("view", lambda: view(self.pool)) if self.there else EMPTY

    def contrasts(self) -> pl.DataFrame:
        """Every contrast of a mix with its own series' straight base, freshly filled pots."""
        return self._once("contrasts", lambda: fresh_contrasts(self.view().runs, pool_settings(self.pool)))

    def other_growers(self) -> OtherGrowers:
        """What own results are set beside."""
        return self._once("others", lambda: OtherGrowers(self.contrasts()))

    def waiting_rows(self, names: Sequence[str], today: date) -> list[dict[str, Any]]:
        """The accepted rows of these sheets of the inbox, oldest sheet first. What lies in the inbox never changes."""
        return self._once(
            ("waiting", tuple(names), today),
            lambda: accepted_rows(self.pool, sheets_waiting(self.pool, names), today).to_dicts(),
        )

    def answer(self, part: Part, by: str | None, asked: Mapping[str, str], in_full: bool) -> QueryResult:
        """The answer to a question: the same as `drainpool query` gives where it is `in_full`, otherwise as everyone
        may have it."""
        key = ("answer", in_full, tuple(sorted(asked.items())))
        compute = answer if in_full else answer_for_everyone
        return self._once(key, lambda: compute(self.pool, part, by))

    def _once(self, what: Hashable, look: Callable[[], Seen]) -> Seen:
        key = (newest_copy(self.pool), what)
        kept = self._kept.get(key)
        if kept is not None:
            return cast(Seen, kept)
        seen = look()
        with self._turn:
            self._kept[key] = seen
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return seen

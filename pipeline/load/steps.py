"""The load stage, in order: lock the pool, archive the bytes, insert, write the journal line, commit, publish.

The public functions (a pool is a folder, `pool`; everything that writes happens inside `writing`):

    with writing(pool, by=NAME, clock=CLOCK, settings=VALUES, recheck=RECHECK, say=SAY) as writer:
        receive(writer, arrivals, checked, whole_series=False) -> list[Outcome]
        withdraw(writer, selection, reason) -> Taken          restore(writer, selection, reason) -> Taken
        set_aside(writer, selection, reason) -> Taken         keep(...), ask(...) alike
        begin_edition(writer, "2026-03", correct=False, reason=None) -> Edition
        publish_edition(writer, "2026-03") -> Edition

    view(pool, cutoff=EVERYTHING) -> View                     runs, held rows, receipts, counts in one look
    runs_in_force(pool, cutoff=EVERYTHING) -> runs            held_rows(pool, cutoff) -> held
    editions(pool, month) -> list[Edition]                    cutoff_of(edition) -> Cutoff
    settings_for(pool, month) -> dict                         closed_until(pool) -> datetime | None
    preview(pool, checked) -> {file_id: [advice line]}        is_pool(pool) -> bool
    pipeline.load.moments: received_on(day, now), inbox_moment(written, month, now, closed, first_run)

`clock` is a function that gives the present moment (UTC); `settings` the values of the pool's settings.toml
(`Settings.as_values()`); `recheck` reads and checks archived bytes again (see records.Recheck); `say` takes a
sentence for standard error. All moments are UTC, in whole seconds.
"""

from __future__ import annotations

from pipeline.load.decisions import ask, keep, restore, set_aside, withdraw
from pipeline.load.editions import (
    begin_edition,
    closed_until,
    cutoff_of,
    editions,
    is_invented,
    publish_edition,
    settings_for,
)
from pipeline.load.opening import is_pool, writing
from pipeline.load.preview import preview
from pipeline.load.reading import held_rows, runs_in_force, view
from pipeline.load.receiving import receive

__all__ = [
    "ask",
    "begin_edition",
    "closed_until",
    "cutoff_of",
    "editions",
    "held_rows",
    "is_invented",
    "is_pool",
    "keep",
    "preview",
    "publish_edition",
    "receive",
    "restore",
    "runs_in_force",
    "set_aside",
    "settings_for",
    "view",
    "withdraw",
    "writing",
]

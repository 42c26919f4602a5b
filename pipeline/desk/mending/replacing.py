"""What sending a sheet of the form would do to its member's earlier pours: counted, and asked about first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pipeline.desk.mending.own_runs import own_runs
from pipeline.desk.mending.series_form import Run, same_place
from pipeline.desk.sheets.receipts import KeptSheet
from pipeline.desk.web.desk import Desk
from pipeline.jobs.receiving.accepted_rows import accepted_rows
from pipeline.jobs.receiving.sheets import Sheet
from schemas.trade.amounts import amount_in_words

SAYS_WHERE_FROM = frozenset({"submission", "sheet_row", "part_marked", "unlike_pour"})
MOST_NAMED = 6


@dataclass(frozen=True)
class Replacing:
    """What sending a sheet would do to own runs: `replaced`, one line for each pour whose numbers change; `leaving`, how
    many leave without a successor; `repeats`, whether every pour of it is as one sent before under another pot."""

    replaced: tuple[str, ...] = ()
    leaving: int = 0
    repeats: bool = False

    @property
    def count(self) -> int:
        """How many earlier pours would not stand any more as they are."""
        return len(self.replaced) + self.leaving

    @property
    def question(self) -> str:
        """What a sender has to agree to, as one word: how many pours are replaced, or that all are sent again as other
        pots. "" where there is nothing to ask."""
        return f"replace-{self.count}" if self.count else "again" if self.repeats else ""

    @property
    def shown(self) -> tuple[str, ...]:
        """The first few lines."""
        return self.replaced[:MOST_NAMED]


def replacing(new: Sequence[Run], standing: Sequence[Run], leaving: int) -> Replacing:
    """Compares the accepted rows of a sheet with the own runs of the same series."""
    pairs = [(run, next((earlier for earlier in standing if _same_run(earlier, run)), None)) for run in new]
    replaced = [
        _line(earlier, run)
        for run, earlier in pairs
        if earlier is not None and _values(earlier) != _values(run)
    ]
    repeats = bool(new) and all(
        earlier is None and any(_measured(other) == _measured(run) for other in standing)
        for run, earlier in pairs
    )
    return Replacing(tuple(replaced), leaving, repeats)


def of_kept_sheet(desk: Desk, kept: KeptSheet, content: bytes, code: str) -> Replacing:
    """What sending a kept sheet would do to the runs of this member. Slow: call it off the event loop."""
    day = desk.clock().date()
    new = accepted_rows(
        desk.pool, [Sheet(kept.name, content, columns=tuple(kept.columns.items()))], day
    ).to_dicts()
    return replacing(new, own_runs(desk, code), kept.leaving)


def _same_run(earlier: Run, run: Run) -> bool:
    return bool(earlier["series_key"] == run["series_key"]) and same_place(earlier, run)


def _values(run: Run) -> dict[str, Any]:
    return {name: value for name, value in run.items() if name not in SAYS_WHERE_FROM}


def _measured(run: Run) -> tuple[Any, ...]:
    """What a pour measured, whatever pot number it was given."""
    names = ("series_key", "component_share", "pour_no", "tested_on", "drain_time_s", "collected_ml", "ended")
    return tuple(run[name] for name in names)


def _line(earlier: Run, run: Run) -> str:
    share = amount_in_words(run["component_share"], "percent")
    where = f"{share}, pot {run['pot_no']}, pour {run['pour_no']}"
    before, after = (amount_in_words(one["drain_time_s"], "s") for one in (earlier, run))
    if before != after:
        return f"{where}: {before} becomes {after}"
    names = [name for name, value in _values(run).items() if _values(earlier).get(name) != value]
    return f"{where}: {', '.join(name.replace('_', ' ') for name in names)} changed"

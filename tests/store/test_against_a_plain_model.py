"""Random histories of a pool against a model in plain Python, run by run, edition by edition."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from pipeline.errors import DrainpoolError
from pipeline.load.changes.decisions import keep, restore, set_aside, withdraw
from pipeline.load.changes.editions import begin_edition, cutoff_of
from pipeline.load.database.writer import Writer
from pipeline.load.keeping.verifying import store_findings
from pipeline.load.truth.moments import month_end, month_of
from pipeline.load.truth.records import EVERYTHING, Cutoff, Edition, Selection
from pipeline.load.views.reading import look
from tests.rounds import examples
from tests.store.plain_sheets import Clock, opened, send, sheet

Run = tuple[str, str, float, int, int, int]
SHARES = (33.0, 33.4, 33.8, 40.0)

row = st.tuples(
    st.sampled_from(["m1", "m2"]),
    st.sampled_from(["s", "s", "t"]),
    st.sampled_from(SHARES),
    st.sampled_from([1, 1, 2]),
    st.just(1),
    st.integers(10, 12),
)
sheet_rows = st.lists(row, min_size=1, max_size=4, unique_by=lambda cells: cells[:4]).filter(
    lambda rows: all(
        one is other or one[:2] + one[3:5] != other[:2] + other[3:5] or abs(one[2] - other[2]) > 0.5
        for one in rows
        for other in rows
    )
)
selection = st.one_of(
    st.tuples(st.just("member"), st.sampled_from(["m1", "m2"])),
    st.tuples(st.just("series"), st.sampled_from(["m1", "m2"]), st.sampled_from(["s", "t"])),
    st.tuples(st.just("submission"), st.integers(0, 20)),
)
operation = st.one_of(
    st.tuples(st.just("load"), sheet_rows, st.booleans(), st.integers(0, 3)),
    st.tuples(st.just("load"), sheet_rows, st.just(False), st.just(0)),
    st.tuples(st.just("load"), sheet_rows, st.just(False), st.just(0)),
    st.tuples(st.just("load"), sheet_rows, st.just(True), st.just(0)),
    st.tuples(st.just("resend"), st.integers(0, 20)),
    st.tuples(st.sampled_from(["withdrawn", "restored", "set_aside", "kept"]), selection),
    st.tuples(st.just("wait"), st.sampled_from([1, 2, 27])),
    st.tuples(st.just("month")),
    st.tuples(st.just("correct")),
)
DECIDE = {"withdrawn": withdraw, "restored": restore, "set_aside": set_aside, "kept": keep}


@dataclass
class Receipt:
    n: int
    received: datetime
    content: bytes
    rows: list[Run]
    whole: bool


@dataclass
class Model:
    """The contract, told one run at a time."""

    receipts: list[Receipt] = field(default_factory=list)
    decisions: list[tuple[int, datetime, str, tuple[Any, ...]]] = field(default_factory=list)

    def states(self, cutoff: Cutoff) -> dict[tuple[int, Run], str]:
        states: dict[tuple[int, Run], str] = {}
        before = cutoff.known_before or 10**9
        for receipt in sorted(self.receipts, key=lambda one: (one.received, one.n)):
            if receipt.n < before:
                _take_in(states, receipt, cutoff)
        for n, at, event, chosen in self.decisions:
            if n >= before or (cutoff.known_until is not None and at > cutoff.known_until):
                continue
            for (receipt_n, run), state in states.items():
                if receipt_n < n and state != "replaced" and self._chosen(chosen, receipt_n, run):
                    states[(receipt_n, run)] = _after(state, event)
        return states

    def in_force(self, cutoff: Cutoff) -> list[Run]:
        return sorted(run for (_, run), state in self.states(cutoff).items() if state == "in force")

    def _chosen(self, chosen: tuple[Any, ...], receipt_n: int, run: Run) -> bool:
        if chosen[0] == "submission":
            mine = next(one for one in self.receipts if one.n == receipt_n)
            return bool(mine.content == chosen[1])
        return run[: len(chosen) - 1] == chosen[1:]


def _take_in(states: dict[tuple[int, Run], str], receipt: Receipt, cutoff: Cutoff) -> None:
    """A receipt's runs replace earlier ones of their place; sheets that came too late only mend."""
    own = cutoff.received_until is None or receipt.received <= cutoff.received_until
    if not own and cutoff.known_until is not None and receipt.received > cutoff.known_until:
        return
    earlier = list(states)
    for run in receipt.rows:
        replaced = [
            (n, other)
            for n, other in earlier
            if other[:2] == run[:2] and (receipt.whole or _same_place(other, run))
        ]
        if own or replaced:
            for one in replaced:
                states[one] = "replaced"
            states[(receipt.n, run)] = "in force"


def _same_place(one: Run, other: Run) -> bool:
    return one[3:5] == other[3:5] and abs(one[2] - other[2]) <= 0.5 + 1e-9


def _after(state: str, event: str) -> str:
    """Withdrawn and set aside are two flags of their own."""
    flags = {"in force": set(), "withdrawn": {"w"}, "set aside": {"a"}, "both": {"w", "a"}}[state]
    letter = "w" if event in ("withdrawn", "restored") else "a"
    flags = flags | {letter} if event in ("withdrawn", "set_aside") else flags - {letter}
    return {"": "in force", "w": "withdrawn", "a": "set aside", "aw": "both"}["".join(sorted(flags))]


class History:
    """A pool and its model, moved together."""

    def __init__(self, writer: Writer, clock: Clock) -> None:
        self.writer, self.clock, self.model = writer, clock, Model()
        self.made: list[tuple[Edition, list[Run]]] = []

    def seen(self, cutoff: Cutoff) -> list[Run]:
        runs = look(self.writer.connection, self.writer.lines, cutoff).runs
        columns = ("member", "series", "component_share", "pot_no", "pour_no", "drain_time_s")
        return sorted((*cells[:5], int(cells[5])) for cells in runs.select(columns).rows())

    def load(self, rows: list[Run], whole: bool, days_back: int) -> None:
        received = self.clock.moment - timedelta(days=days_back)
        self._send(sheet(*rows), rows, whole, received if days_back else None)

    def resend(self, which: int) -> None:
        if self.model.receipts:
            old = self.model.receipts[which % len(self.model.receipts)]
            self._send(old.content, old.rows, False, None)

    def _send(self, content: bytes, rows: list[Run], whole: bool, received: datetime | None) -> None:
        alive = {
            n for (n, _), state in self.model.states(EVERYTHING).items() if state in ("in force", "set aside")
        }
        there = any(one.content == content and one.n in alive for one in self.model.receipts)
        moment = received or self.clock.moment
        closed = max((month_end(edition.month) for edition, _ in self.made), default=None)
        (outcome,) = send(self.writer, ("x.csv", content), received=received, whole_series=whole)
        assert outcome.already_loaded == there
        assert (outcome.refused is not None) == (not there and closed is not None and moment <= closed)
        if outcome.receipt is not None and not there:
            self.model.receipts.append(Receipt(outcome.receipt, moment, content, rows, whole))

    def decide(self, event: str, chosen: tuple[Any, ...]) -> None:
        if chosen[0] == "submission":
            if not self.model.receipts:
                return
            receipt = self.model.receipts[chosen[1] % len(self.model.receipts)]
            chosen = ("submission", receipt.content)
            import hashlib

            picked = Selection(submission=hashlib.sha256(receipt.content).hexdigest())
        else:
            picked = Selection(*chosen[1:])
        try:
            taken = DECIDE[event](self.writer, picked, "because")
        except DrainpoolError:
            return
        self.model.decisions.append((taken.line, self.clock.moment, event, chosen))

    def month(self, correct: bool) -> None:
        ended = month_of(self.clock.moment.replace(day=1) - timedelta(days=1))
        if correct and not any(edition.month == ended for edition, _ in self.made):
            return
        edition = begin_edition(self.writer, ended, correct=correct)
        if all(edition != old for old, _ in self.made):
            self.made.append((edition, self.model.in_force(cutoff_of(edition))))

    def compare(self) -> None:
        assert self.seen(EVERYTHING) == self.model.in_force(EVERYTHING)
        for edition, runs in self.made:
            assert self.seen(cutoff_of(edition)) == runs, f"{edition.month}, edition {edition.number} moved"

    def move(self, step: tuple[Any, ...]) -> None:
        match step:
            case ("load", rows, whole, days_back):
                self.load(rows, whole, days_back)
            case ("resend", which):
                self.resend(which)
            case ("wait", days):
                self.clock.moment += timedelta(days=days)
            case ("month",):
                self.month(correct=False)
            case ("correct",):
                self.month(correct=True)
            case (event, chosen):
                self.decide(event, chosen)


@settings(
    max_examples=examples(0.25),
    suppress_health_check=list(HealthCheck),
    # a history of twenty steps reads well enough as it is; shrinking one takes minutes
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)
@given(st.lists(operation, min_size=12, max_size=24))
def test_any_history_is_what_the_plain_model_says(steps: list[tuple[Any, ...]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        clock = Clock(datetime(2026, 3, 5, 12, tzinfo=UTC))
        with opened(Path(folder) / "pool", clock) as writer:
            history = History(writer, clock)
            for step in steps:
                history.move(step)
            history.compare()
            assert [found for found in store_findings(writer) if found.damage] == []

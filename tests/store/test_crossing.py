"""Two commands started together on one pool, at seeded delays: the pool ends as if one had come after the other.

Every pair of load, month, correct, publish, withdraw, erase, answer, backup, rebuild and a sheet sent at the desk. The
commands run in threads of this process, each with its own lock and its own connections, as in two processes; the clock
stands, so that bytes can be compared with those of the two orders. A command may be refused, in words: then it has
changed nothing, and the pool ends as the other command alone leaves it.
"""

from __future__ import annotations

import random
import shutil
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from itertools import combinations_with_replacement
from pathlib import Path
from typing import Any

import pytest

from pipeline.desk.erasing import forget
from pipeline.errors import DrainpoolError
from pipeline.jobs.decisions.requests import (
    Request,
    carry_out,
    in_turn,
    leave_request,
    leave_sheet,
    requests_waiting,
)
from pipeline.jobs.decisions.steps import decide_runs, withdraw_runs
from pipeline.jobs.keeping.erasing import erase_member
from pipeline.jobs.keeping.steps import backup_pool, rebuild_pool, verify_pool
from pipeline.jobs.month.figures import figures
from pipeline.jobs.month.files.publishing import draft_to_publish, publish_month
from pipeline.jobs.month.steps import MonthOrder, next_edition, until_in_place, write_month
from pipeline.jobs.receiving.inbox import take_in, waiting
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.jobs.receiving.steps import Moment, load_batch
from pipeline.load.changes.editions import editions
from pipeline.load.views.reading import view
from tests.store.month_by_hand import CLOCKS, contents, own_sheet, quiet
from tests.story.pool_fixture import small_sheet

MARCH, APRIL = "2026-03", "2026-04"
NOW = datetime(2026, 5, 4, 9, tzinfo=UTC)
ERASED = "fen-02"
LONGEST_DELAY_S = 0.6


def taken_in(pool: Path) -> None:
    """What waits in the inbox, as a month takes it."""
    for names, request in in_turn(waiting(pool, quiet), requests_waiting(pool)):
        if names:
            take_in(pool, names, APRIL, "Ann", quiet)
        if request is not None:
            carry_out(pool, request, quiet)


def run(pool: Path, month: str, correct: bool = False) -> Any:
    order = MonthOrder(pool, month, "Ann", correct, "a slip" if correct else None)
    made, _ = until_in_place(
        lambda again: next_edition(order, quiet, again),
        lambda edition: figures(pool, edition),
        lambda values, patient: write_month(pool, values, quiet, patient),
    )
    return made.edition


def load(pool: Path) -> None:
    sheet = Sheet("new.csv", own_sheet("fen-04", 7).encode())
    load_batch(pool, [sheet], [Moment()], "Ann", quiet)


def month(pool: Path) -> None:
    taken_in(pool)
    run(pool, APRIL)


def correct(pool: Path) -> None:
    run(pool, MARCH, correct=True)


def publish(pool: Path) -> None:
    draft = draft_to_publish(pool, MARCH)
    if draft is None:
        edition = run(pool, MARCH)
        draft = None if edition.published else edition
    if draft is not None:
        publish_month(pool, draft, "Ann", quiet)


def withdraw(pool: Path) -> None:
    withdraw_runs(pool, ("fen-03", None, None), "asked", "Ann", quiet)


def erase(pool: Path) -> None:
    erase_member(pool, ERASED, "asked", "Ann", quiet, lambda: forget(pool, ERASED))


def answer(pool: Path) -> None:
    decide_runs(pool, "aside", ("fen-01", "bench A", None, None), "a leak", "Ann", quiet)


def backup(pool: Path) -> None:
    backup_pool(pool, pool.with_name(f"{pool.name}-{time.monotonic_ns()}.backup"), quiet)


def rebuild(pool: Path) -> None:
    rebuild_pool(pool, quiet)


def send(pool: Path) -> None:
    leave_sheet(pool, own_sheet("fen-05", 8).encode(), "sent.csv", "fen-05", NOW, "w")
    leave_request(pool, Request("nickname", "fen-05", NOW, "Moss", member="fen-05"), "w")


COMMANDS: dict[str, Callable[[Path], None]] = {
    command.__name__: command
    for command in (load, month, correct, publish, withdraw, erase, answer, backup, rebuild, send)
}
EVERY_PAIR = list(combinations_with_replacement(COMMANDS, 2))
QUICK = [("erase", "month"), ("correct", "erase"), ("month", "month"), ("publish", "correct")]


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """March published, then mended, its second edition a draft; a sheet of the member to be erased in the inbox."""
    pool = tmp_path_factory.mktemp("crossing") / "pool"
    with pytest.MonkeyPatch.context() as patch:
        for place in CLOCKS:
            patch.setattr(place, lambda: NOW)
        sheets = [
            Sheet(f"{member}.csv", own_sheet(member, at).encode())
            for at, member in enumerate(("fen-01", ERASED, "fen-03"))
        ]
        load_batch(pool, sheets, [Moment(datetime(2026, 3, 20, tzinfo=UTC))] * 3, "Ann", quiet)
        publish(pool)
        mended = Sheet("mended.csv", small_sheet("fen-01", drain_time="3:33").encode())
        load_batch(pool, [mended], [Moment(datetime(2026, 4, 2, tzinfo=UTC))], "Ann", quiet)
        correct(pool)
        leave_sheet(pool, small_sheet(ERASED, drain_time="2:22").encode(), "later.csv", ERASED, NOW, "v")
        yield pool


def ended(pool: Path) -> dict[str, Any]:
    """What a pool came to: its public files, mails and receipts byte for byte, runs, editions and what waits."""
    seen = view(pool)
    return {
        "reports": contents(pool / "reports"),
        "mails": contents(pool / "mails"),
        "receipts": sorted(contents(pool / "receipts").values()),
        "runs": seen.runs.sort("submission", "sheet_row").to_dicts(),
        "held": seen.counts["held"],
        "editions": [
            (one.number, one.published, one.erased) for name in (MARCH, APRIL) for one in editions(pool, name)
        ],
        "inbox": contents(pool / "inbox"),
    }


def unlike_parts(after: dict[str, Any], order: dict[str, Any]) -> list[str]:
    """What of two ends is not the same, by part and, of files, by name."""
    unlike = []
    for part in after:
        if after[part] != order[part]:
            names = sorted({*after[part], *order[part]}) if isinstance(after[part], dict) else []
            unlike += [part, *(name for name in names if after[part].get(name) != order[part].get(name))]
    return unlike


class Crossing:
    """Pairs of commands on copies of one pool; what each order leaves is worked out once."""

    def __init__(self, begun: Path, folder: Path) -> None:
        self.begun, self.folder = begun, folder
        self.known: dict[tuple[str, ...], dict[str, Any]] = {}
        self.copies = 0

    def copy(self) -> Path:
        self.copies += 1
        shutil.copytree(self.begun, self.folder / f"pool-{self.copies}")
        return self.folder / f"pool-{self.copies}"

    def in_order(self, *names: str) -> dict[str, Any]:
        if names not in self.known:
            pool = self.copy()
            for name in names:
                try:
                    COMMANDS[name](pool)
                except DrainpoolError:
                    continue
            self.known[names] = ended(pool)
            shutil.rmtree(pool)
        return self.known[names]

    def cross(self, pair: tuple[str, str], chance: random.Random) -> None:
        pool = self.copy()
        delays = [0.0, chance.random() * LONGEST_DELAY_S]
        chance.shuffle(delays)

        def late(name: str, delay_s: float) -> str | None:
            time.sleep(delay_s)
            try:
                COMMANDS[name](pool)
            except DrainpoolError:
                return None
            return name

        with ThreadPoolExecutor(2) as both:
            done = [name for name in both.map(late, pair, delays) if name is not None]
        after = ended(pool)
        orders = [self.in_order(*pair), self.in_order(*reversed(pair)), self.in_order(*done)]
        unlike = [unlike_parts(after, order) for order in orders]
        assert [] in unlike, (
            pair,
            delays,
            done,
            unlike,
            after["editions"],
            [order["editions"] for order in orders],
        )
        damage = [f"{one.where}: {one.words}" for one in verify_pool(pool, "Ann", quiet) if one.damage]
        assert damage == [], (pair, delays)
        if "erase" in done:
            naming = [
                name
                for name, content in contents(pool).items()
                if ERASED.encode() in content or ERASED in name
            ]
            assert naming == [], (pair, delays)
        shutil.rmtree(pool)
        for path in self.folder.glob("*.backup"):
            path.unlink()


@pytest.mark.parametrize("pair", QUICK, ids="-".join)
def test_a_pair_of_commands_ends_as_in_one_of_the_two_orders(
    begun: Path, tmp_path: Path, pair: tuple[str, str]
) -> None:
    Crossing(begun, tmp_path).cross(pair, random.Random(12))  # noqa: S311 moments, not secrets

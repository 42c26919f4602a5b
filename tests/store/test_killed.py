"""Real processes ended by kill -9: every file is wholly in or wholly out, verify is clean, a re-run finishes.

The moments, 52 in all: named points inside a load (most of them inside its transaction), and seeded moments spread
over the measured duration of `load` and of `month`.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from pipeline.jobs.keeping.steps import verify_pool
from pipeline.load.truth.archive import submission_of
from pipeline.load.views.reading import runs_in_force, view
from tests.store.paused import IN_TRANSACTION, POINTS
from tests.story.pool_fixture import PATIENCE_S, drainpool, drainpool_process, small_sheet, write

LOADS_KILLED = 25
MONTHS_KILLED = 12
ROOT = Path(__file__).resolve().parents[2]
ROWS = 3
QUICK = ("all sheets archived", "journal torn", "store to be published")
"""Points of the quick round: before the transaction, inside it, after it."""


def sheets(folder: Path, member: str, count: int = 3) -> list[Path]:
    """New sheets of a member, each of its own series, three rows each, with times of their own: equal ones would wait."""
    folder.mkdir(exist_ok=True)
    files = []
    for at in range(count):
        tenths = int(member[-2:]) * 3 + at
        text = small_sheet(member, shares=("40", "55"), series=f"series {at}")
        text = text.replace(":10", f":{10 + tenths // 10}.{tenths % 10}")
        files.append(write(folder, f"{member}-{at}.csv", text))
    return files


def started(*words: str | Path, module: str = "pipeline.cli") -> subprocess.Popen[bytes]:
    """A command in a process of its own that nobody waits for."""
    return subprocess.Popen(
        [sys.executable, "-m", module, *map(str, words)],
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )


def killed(process: subprocess.Popen[bytes]) -> None:
    os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def damage(pool: Path) -> list[str]:
    if not (pool / "journal.jsonl").exists():
        return []
    found = verify_pool(pool, "test", lambda words: None)
    return [f"{one.where}: {one.words}" for one in found if one.damage]


def wholly(pool: Path, files: list[Path]) -> set[int]:
    """How many rows of each file stand in the pool: none, or all of them."""
    if not (pool / "journal.jsonl").exists():
        return {0}
    runs = runs_in_force(pool)
    return {runs.filter(submission=submission_of(path.read_bytes())).height for path in files}


def reloaded(pool: Path, files: list[Path]) -> None:
    again = drainpool("load", *files, "--pool", pool)
    assert again.returncode == 0, again.stderr
    assert wholly(pool, files) == {ROWS}
    receipts = view(pool).receipts
    assert receipts.height == receipts["submission"].n_unique(), "none twice"


def test_most_points_lie_inside_the_transaction() -> None:
    assert len(IN_TRANSACTION) >= 10
    assert len(POINTS) + LOADS_KILLED + MONTHS_KILLED >= 50
    assert set(IN_TRANSACTION) | set(QUICK) < set(POINTS)


@pytest.mark.parametrize(
    "point", [point if point in QUICK else pytest.param(point, marks=pytest.mark.deep) for point in POINTS]
)
def test_killed_at_a_named_point_of_a_load(tmp_path: Path, point: str) -> None:
    pool, marker = tmp_path / "pool", tmp_path / "arrived"
    first = sheets(tmp_path / "first", "fen-01", 1)
    assert drainpool("load", *first, "--pool", pool).returncode == 0
    files = sheets(tmp_path / "new", "fen-02")
    process = started(point, marker, "load", *files, "--pool", pool, module="tests.store.paused")
    deadline = time.monotonic() + PATIENCE_S
    while not marker.exists():
        assert process.poll() is None, "the command ended before it came to the point"
        assert time.monotonic() < deadline
        time.sleep(0.02)
    killed(process)
    assert damage(pool) == []
    assert wholly(pool, files) <= {0, ROWS}
    assert wholly(pool, first) == {ROWS}
    reloaded(pool, files)
    assert damage(pool) == []


@pytest.mark.deep
def test_killed_anywhere_in_a_load(tmp_path: Path) -> None:
    pool, chance = tmp_path / "pool", random.Random(20260314)  # noqa: S311 moments, not secrets
    began = time.monotonic()
    timed = drainpool_process("load", *sheets(tmp_path / "timed", "fen-00"), "--pool", tmp_path / "other")
    assert timed.returncode == 0
    duration = time.monotonic() - began
    for at in range(LOADS_KILLED):
        files = sheets(tmp_path / f"new-{at}", f"fen-{at + 1:02}")
        process = started("load", *files, "--pool", pool)
        time.sleep(duration * (at + chance.random()) / LOADS_KILLED)
        killed(process)
        assert damage(pool) == []
        assert wholly(pool, files) <= {0, ROWS}
        reloaded(pool, files)
    assert damage(pool) == []
    assert view(pool).counts["runs"] == LOADS_KILLED * 3 * ROWS


@pytest.mark.deep
def test_killed_anywhere_in_a_month(tmp_path: Path) -> None:
    """A month made again and again from its inbox, each time cut short, ends as the undisturbed one."""
    chance = random.Random(31)  # noqa: S311 moments, not secrets
    pools = [tmp_path / name for name in ("disturbed", "calm")]
    first = sheets(tmp_path / "first", "fen-80", 2)
    for pool in pools:
        assert drainpool("load", *first, "--pool", pool, "--received", "2026-03-20").returncode == 0
        sheets(pool / "inbox", "fen-90")
    began = time.monotonic()
    assert drainpool_process("month", "2026-03", "--pool", pools[1]).returncode == 0
    duration = time.monotonic() - began
    for at in range(MONTHS_KILLED):
        process = started("month", "2026-03", "--pool", pools[0])
        time.sleep(duration * (at + chance.random()) / MONTHS_KILLED)
        killed(process)
        assert damage(pools[0]) == []
    assert drainpool_process("month", "2026-03", "--pool", pools[0]).returncode == 0
    results = [(pool / "reports" / "2026-03" / "results.json").read_bytes() for pool in pools]
    assert results[0] == results[1]
    assert not list((pools[0] / "inbox").glob("fen-90*"))
    assert damage(pools[0]) == []

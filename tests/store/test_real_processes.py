"""Real processes: many loads at once, a full disk, a folder that may not be written, months made again elsewhere."""

from __future__ import annotations

import os
import random
import resource
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from pipeline.jobs.keeping.steps import verify_pool
from pipeline.load.views.reading import view
from tests.story.pool_fixture import PATIENCE_S, DemoPool, drainpool, drainpool_process, small_sheet, write

ROOT = Path(__file__).resolve().parents[2]


def damage(pool: Path) -> list[str]:
    found = verify_pool(pool, "test", lambda words: None)
    return [f"{one.where}: {one.words}" for one in found if one.damage]


@pytest.mark.parametrize("count", [6, pytest.param(20, marks=pytest.mark.deep)])
def test_loads_at_once_are_all_in_and_none_twice(tmp_path: Path, count: int) -> None:
    pool = tmp_path / "pool"
    files = [write(tmp_path, f"{at}.csv", small_sheet(f"fen-{at:02}")) for at in range(count)]
    processes = [
        subprocess.Popen(
            [sys.executable, "-m", "pipeline.cli", "load", str(path), "--pool", str(pool)],
            cwd=ROOT,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )
        for path in files
    ]
    said = [process.communicate(timeout=PATIENCE_S)[1].decode() for process in processes]
    assert [process.returncode for process in processes] == [0] * count, said
    seen = view(pool)
    assert (seen.counts["members"], seen.counts["runs"], seen.counts["receipts"]) == (count, 2 * count, count)
    assert damage(pool) == []


def contents(pool: Path) -> dict[str, bytes]:
    """Every file of a pool that is not derived anew or a lock."""
    kept = ("journal.jsonl", "archive", "pool.duckdb")
    return {
        path.relative_to(pool).as_posix(): path.read_bytes()
        for name in kept
        for path in [pool / name, *(pool / name).rglob("*")]
        if path.is_file()
    }


def limited(words: Sequence[str | Path], largest_file_bytes: int) -> subprocess.CompletedProcess[str]:
    """A command that may not write a file larger than this."""

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (largest_file_bytes, largest_file_bytes))

    return subprocess.run(
        [sys.executable, "-m", "pipeline.cli", *map(str, words)],
        cwd=ROOT,
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=PATIENCE_S,
        preexec_fn=limit,
    )


@pytest.mark.parametrize(
    "room_bytes", [2_000, *(pytest.param(room, marks=pytest.mark.deep) for room in (0, 300_000, 800_000))]
)
def test_no_room_left_is_worded_and_nothing_is_half_written(tmp_path: Path, room_bytes: int) -> None:
    pool = tmp_path / "pool"
    assert drainpool("load", write(tmp_path, "a.csv", small_sheet("fen-01")), "--pool", pool).returncode == 0
    before = contents(pool)
    # a sheet of 2000 pots: larger than the room that is left, in archive, journal or store
    rows = small_sheet("fen-02").splitlines()
    many = [rows[0], rows[1]]
    columns = rows[0].split(",")
    for pot in range(1, 2001):
        cells = rows[2].split(",")
        cells[columns.index("pot_no")] = str(pot)
        many.append(",".join(cells))
    big = write(tmp_path, "b.csv", "\n".join(many))
    done = limited(["load", big, "--pool", pool], room_bytes)
    assert done.returncode == 3, (done.stdout, done.stderr)
    assert "Traceback" not in done.stderr
    assert "no room" in done.stderr or "could not be written" in done.stderr
    after = contents(pool)
    assert {name: after[name] for name in after if name != "pool.duckdb"} == {
        name: before[name] for name in before if name != "pool.duckdb"
    }
    assert view(pool).counts["runs"] == 2
    assert damage(pool) == []
    assert drainpool("load", big, "--pool", pool).returncode in (0, 1)
    assert damage(pool) == []


@pytest.mark.skipif(
    shutil.which("setpriv") is None, reason="needs setpriv to give up the right to write anywhere"
)
def test_a_folder_that_may_not_be_written_is_worded_and_left_alone(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    sheet = write(tmp_path, "b.csv", small_sheet("fen-02"))
    assert drainpool("load", write(tmp_path, "a.csv", small_sheet("fen-01")), "--pool", pool).returncode == 0
    before = contents(pool)
    for folder in [pool, *pool.rglob("*")]:
        folder.chmod(0o555 if folder.is_dir() else 0o444)
    powerless = (
        [] if os.geteuid() else ["setpriv", "--bounding-set", "-dac_override", "--inh-caps", "-dac_override"]
    )
    done = subprocess.run(
        [*powerless, sys.executable, "-m", "pipeline.cli", "load", str(sheet), "--pool", str(pool)],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=PATIENCE_S,
    )
    for folder in [pool, *pool.rglob("*")]:
        folder.chmod(0o755 if folder.is_dir() else 0o644)
    assert done.returncode == 3, (done.stdout, done.stderr)
    assert "may not be written" in done.stderr
    assert contents(pool) == before


@pytest.mark.deep
def test_a_month_is_the_same_bytes_after_thirty_later_operations_and_elsewhere(
    tmp_path: Path, demo_pool: DemoPool
) -> None:
    pool = tmp_path / "pool"
    shutil.copytree(demo_pool.folder, pool)
    before = {
        month: (pool / "reports" / month / "results.json").read_bytes()
        for month in ("2026-03", "2026-04", "2026-05")
    }
    operate(pool, tmp_path, random.Random(7))  # noqa: S311 choices, not secrets
    for month in before:
        (pool / "reports" / month / "results.json").unlink()
    moved = tmp_path / "elsewhere" / "the same pool"
    moved.parent.mkdir()
    pool.rename(moved)
    for month, content in before.items():
        done = drainpool_process("month", month, "--pool", moved, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
        assert (moved / "reports" / month / "results.json").read_bytes() == content
    assert damage(moved) == []


def operate(pool: Path, folder: Path, chance: random.Random) -> None:
    """Thirty random loads, mendings, withdrawals, restorings and settings-aside, through the jobs."""
    from pipeline.jobs.receiving.sheets import Sheet
    from pipeline.jobs.receiving.steps import Moment, load_batch, pool_writer
    from pipeline.load.changes.decisions import restore, set_aside, withdraw
    from pipeline.load.truth.records import Selection

    members = sorted(view(pool).runs["member"].unique())
    for at in range(30):
        member = chance.choice(members)
        if at % 3 == 0:
            series = view(pool).runs.filter(member=member)["series"].to_list()
            text = small_sheet(
                member, series=chance.choice(series or ["new"]), drain_time=f"{chance.randint(1, 9)}:10"
            )
            load_batch(
                pool, [Sheet(f"{at}.csv", text.encode())], [Moment()], "test", lambda words: None, at % 2 == 0
            )
            continue
        act = chance.choice([withdraw, restore, set_aside])
        with pool_writer(pool, "test", lambda words: None) as writer:
            act(writer, Selection(member=member), "because")


@pytest.mark.deep
def test_the_demos_pool_is_rebuilt_content_for_content(tmp_path: Path, demo_pool: DemoPool) -> None:
    """Sheets read again in other batches than they came in give the same rows, held ones included."""
    pool = tmp_path / "pool"
    shutil.copytree(demo_pool.folder, pool)
    done = drainpool("rebuild", "--pool", pool)
    assert done.returncode == 0, done.stderr
    assert "differently" not in done.stdout
    assert damage(pool) == []

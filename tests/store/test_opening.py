"""Opening a pool: folders that are none, crashes at every point, locks, versions, full disks."""

from __future__ import annotations

import json
import multiprocessing
import shutil
import threading
from pathlib import Path

import duckdb
import pytest

from pipeline.errors import DrainpoolError
from pipeline.load.changes.editions import settings_for
from pipeline.load.database import store
from pipeline.load.keeping.opening import is_pool
from pipeline.load.keeping.verifying import store_findings
from pipeline.load.truth import archive, journal
from pipeline.load.truth.lock import one_writer
from pipeline.load.views.reading import runs_in_force, view
from schemas.kinds.registry import KINDS
from schemas.store import STORE_VERSION, shape_of
from tests.store.plain_sheets import SETTINGS, Clock, opened, send, sheet, times
from tests.story.pool_fixture import wait_for

ONE = sheet(("m1", "s", 0, 1, 1, 50), ("m1", "s", 40, 1, 1, 30))
TWO = sheet(("m2", "s", 0, 1, 1, 51))


class Killed(BaseException):
    """Stands for the end of the process."""


def clean(pool: Path) -> bool:
    with opened(pool, settings=None) as writer:
        return not [found for found in store_findings(writer) if found.damage]


@pytest.mark.parametrize("there", [[], ["settings.toml"], ["pool.lock"]])
def test_a_pool_is_made_in_a_missing_or_empty_folder(tmp_path: Path, there: list[str]) -> None:
    pool = tmp_path / "new" / "pool"
    for name in there:
        pool.mkdir(parents=True, exist_ok=True)
        (pool / name).touch()
    with opened(pool, invented=True) as writer:
        send(writer, ("a.csv", ONE))
    assert is_pool(pool)
    assert journal.read(pool)[0][0].payload == {"layout": 2, "invented": True}


def test_a_folder_that_holds_something_else_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "holiday.jpg").touch()
    with (
        pytest.raises(DrainpoolError, match=r"not empty and is no pool \(it holds holiday\.jpg\)"),
        opened(tmp_path),
    ):
        pass
    assert [path.name for path in tmp_path.iterdir()] == ["holiday.jpg"]


def test_a_pool_without_its_journal_is_not_made_anew(tmp_path: Path) -> None:
    with opened(tmp_path / "pool") as writer:
        send(writer, ("a.csv", ONE))
    (tmp_path / "pool" / "journal.jsonl").unlink()
    with pytest.raises(DrainpoolError, match=r"journal\.jsonl is missing"), opened(tmp_path / "pool"):
        pass


def test_a_pool_whose_making_was_cut_short_is_made(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool):
        pass
    (pool / "journal.jsonl").unlink()
    with opened(pool) as writer:
        send(writer, ("a.csv", ONE))
    assert clean(pool)


def test_nothing_is_made_where_nothing_should_be(tmp_path: Path) -> None:
    with pytest.raises(DrainpoolError, match=r"holds no pool"), opened(tmp_path / "none", make=False):
        pass
    with pytest.raises(DrainpoolError, match=r"holds no pool that can be read"):
        view(tmp_path / "none")
    assert not (tmp_path / "none").exists()


def test_killed_between_journal_and_store_the_next_opening_finishes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", ONE))

    real = journal.append

    def kill(folder: Path, lines: list[journal.Line]) -> int:
        real(folder, lines)
        raise Killed

    with monkeypatch.context() as cut, pytest.raises(Killed), opened(pool) as writer:
        cut.setattr("pipeline.load.truth.journal.append", kill)
        send(writer, ("b.csv", TWO))
    assert runs_in_force(pool).height == 2, "readers still see the old pool"
    with opened(pool) as writer:
        (again,) = send(writer, ("b.csv", TWO))
    assert again.already_loaded
    assert runs_in_force(pool).height == 3
    assert clean(pool)


def test_killed_before_the_journal_nothing_has_happened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pool = tmp_path / "pool"

    def kill(folder: Path, lines: list[journal.Line]) -> int:
        raise Killed

    with monkeypatch.context() as cut, pytest.raises(Killed), opened(pool) as writer:
        cut.setattr("pipeline.load.truth.journal.append", kill)
        send(writer, ("a.csv", ONE))
    with opened(pool) as writer:
        assert [line.event for line in writer.lines] == ["made", "settings"]
        (outcome,) = send(writer, ("a.csv", ONE))
    assert not outcome.already_loaded
    assert clean(pool)


@pytest.mark.parametrize("cut", [1, 2, 30, 200])
def test_a_torn_last_line_never_happened(tmp_path: Path, cut: int) -> None:
    """A batch of two whose write was cut short: the first sheet is wholly in, the second wholly out."""
    pool, said = tmp_path / "pool", list[str]()
    with opened(pool) as writer:
        send(writer, ("a.csv", ONE))
        before = journal.journal_length(pool)
        store_before = (pool / store.STORE).read_bytes()
    with opened(pool) as writer:
        send(writer, ("b.csv", TWO), ("c.csv", sheet(("m3", "s", 0, 1, 1, 52))))
    whole = (pool / journal.JOURNAL).read_bytes()
    first_end = whole.index(b"\n", before) + 1
    (pool / journal.JOURNAL).write_bytes(whole[: first_end + cut])
    (pool / store.STORE).write_bytes(store_before)
    (pool / store.STORE).unlink()
    with opened(pool, said=said) as writer:
        assert [line.event for line in writer.lines].count("received") == 2
    assert said == [
        "The last journal line was cut short by an interrupted command; that change never happened."
    ]
    assert runs_in_force(pool)["member"].to_list() == ["m1", "m1", "m2"]
    assert clean(pool)


def test_a_last_line_that_only_lacks_its_newline_is_kept(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", ONE))
    path = pool / journal.JOURNAL
    path.write_bytes(path.read_bytes()[:-1])
    with opened(pool) as writer:
        send(writer, ("b.csv", TWO))
    assert [line.event for line in journal.read(pool)[0]].count("received") == 2


def test_a_store_that_is_gone_or_half_made_is_made_again(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", ONE))
    (pool / store.STORE).unlink()
    duckdb.connect(str(pool / store.STORE)).close()
    with opened(pool) as writer:
        send(writer, ("b.csv", TWO))
    assert runs_in_force(pool).height == 3
    assert clean(pool)


def test_a_store_of_another_journal_is_not_written_to(tmp_path: Path) -> None:
    pools = [tmp_path / name for name in ("one", "two")]
    for pool in pools:
        with opened(pool) as writer:
            send(writer, ("a.csv", ONE))
    (pools[0] / store.STORE).write_bytes((pools[1] / store.STORE).read_bytes())
    with (
        pytest.raises(DrainpoolError, match=r"does not fit its journal.*drainpool rebuild"),
        opened(pools[0]),
    ):
        pass


def test_a_pool_from_a_newer_tool_is_refused(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", ONE))
    connection = duckdb.connect(str(pool / store.STORE))
    connection.execute("UPDATE meta SET value = '99' WHERE name = 'version'")
    connection.close()
    with pytest.raises(DrainpoolError, match=r"newer drainpool \(store version 99"), opened(pool):
        pass
    published = next((pool / store.PUBLISHED).iterdir())
    published.write_bytes((pool / store.STORE).read_bytes())
    with pytest.raises(DrainpoolError, match=r"newer drainpool"):
        view(pool)


def test_a_newer_layout_is_refused(tmp_path: Path) -> None:
    tmp_path.joinpath("pool").mkdir()
    made = journal.written([journal.Change("made", {"layout": 99, "invented": False})], None, Clock()(), "x")
    journal.append(tmp_path / "pool", made)
    with pytest.raises(DrainpoolError, match=r"newer drainpool \(layout 99"), opened(tmp_path / "pool"):
        pass


def test_a_store_of_another_shape_is_made_anew_from_the_kept_rows(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("one.csv", sheet(("m", "s", 0, 1, 1, 60), ("m", "s", 40, 1, 1, "x"))))
    seen = view(pool)
    connection = store.connect(pool / store.STORE)
    connection.execute("ALTER TABLE runs DROP COLUMN notes")
    connection.execute("UPDATE meta SET value = ? WHERE name = 'version'", [str(STORE_VERSION - 1)])
    connection.close()
    shutil.copyfile(pool / store.STORE, next((pool / store.PUBLISHED).iterdir()))
    with pytest.raises(DrainpoolError, match=r"older drainpool.*type: drainpool verify --pool"):
        view(pool)
    with opened(pool):
        pass
    assert view(pool).runs.equals(seen.runs) and view(pool).held.equals(seen.held)


SHAPES = {2: "3c16b33ce8ffed16"}
"""Store version -> fingerprint of its tables. A change of a table raises STORE_VERSION (older stores are then made
anew) and adds a line here; the lines of released versions stay."""


def test_no_table_changes_its_shape_without_a_new_store_version() -> None:
    shape = shape_of(KINDS.values())
    assert max(SHAPES) == STORE_VERSION
    assert shape == SHAPES[STORE_VERSION], (
        f"a table changed: give what is new `since={STORE_VERSION + 1}` (or raise TABLES_SINCE of schemas/store.py) and add its fingerprint here"
    )


def test_a_full_disk_is_worded_and_takes_everything_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", ONE))
    before = (pool / journal.JOURNAL).read_bytes()
    sheets = list(archive.walk(pool))

    def full(handle: int, content: bytes) -> int:
        raise OSError(28, "No space left on device")

    with (
        pytest.raises(DrainpoolError, match=r"no room left"),
        opened(pool) as writer,
        monkeypatch.context() as cut,
    ):
        cut.setattr("pipeline.load.truth.journal.os.write", full)
        send(writer, ("b.csv", TWO))
    assert (pool / journal.JOURNAL).read_bytes() == before
    assert list(archive.walk(pool)) == sheets
    assert runs_in_force(pool).height == 2
    assert clean(pool)


def test_a_store_that_can_not_commit_takes_the_journal_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", ONE))
        before = (pool / journal.JOURNAL).read_bytes()

    class Failing:
        """The store's connection, but its disk is full when it commits."""

        def __init__(self, real: store.Connection) -> None:
            self.real = real

        def commit(self) -> None:
            self.real.rollback()
            raise duckdb.IOException("could not write: No space left on device")

        def __getattr__(self, name: str) -> object:
            return getattr(self.real, name)

    with pytest.raises(DrainpoolError, match=r"taken back"), opened(pool) as writer:
        real, writer.connection = writer.connection, Failing(writer.connection)  # type: ignore[assignment]
        try:
            send(writer, ("b.csv", TWO))
        finally:
            writer.connection = real
    assert (pool / journal.JOURNAL).read_bytes() == before
    assert clean(pool)
    assert runs_in_force(pool).height == 2


def test_a_second_writer_says_that_it_waits_and_then_goes_on(tmp_path: Path) -> None:
    pool, said = tmp_path / "pool", list[str]()
    with opened(pool) as writer:
        send(writer, ("a.csv", ONE))
    holding, done = threading.Event(), threading.Event()

    def hold() -> None:
        with one_writer(pool, lambda words: None, 5):
            holding.set()
            done.wait(5)

    holder = threading.Thread(target=hold)
    holder.start()
    holding.wait(5)
    threading.Timer(0.6, done.set).start()
    with opened(pool, said=said) as writer:
        send(writer, ("b.csv", TWO))
    holder.join()
    assert said == [f"Another drainpool is writing to {pool}. Waiting for it to finish (up to 600 s)."]
    assert runs_in_force(pool).height == 3


def test_a_writer_gives_up_worded(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    pool.mkdir()
    with (
        one_writer(pool, lambda words: None, 5),
        pytest.raises(DrainpoolError, match=r"for more than 0\.1 s"),
        opened(pool, wait_s=0.1),
    ):
        pass


def _load(pool: str, number: int) -> None:
    with opened(Path(pool)) as writer:
        send(writer, (f"{number}.csv", sheet((f"m{number}", "s", 0, 1, 1, 50 + number))))


def test_loads_at_once_are_all_in_and_none_twice(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    context = multiprocessing.get_context("spawn")
    processes = [context.Process(target=_load, args=(str(pool), number % 4)) for number in range(6)]
    for process in processes:
        process.start()
    for process in processes:
        process.join(120)
    assert [process.exitcode for process in processes] == [0] * 6
    assert sorted(runs_in_force(pool)["member"]) == ["m0", "m1", "m2", "m3"]
    assert clean(pool)


def test_readers_see_old_or_new_and_never_half(tmp_path: Path) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("0.csv", sheet(("m0", "s", 0, 1, 1, 50), ("m0", "s", 40, 1, 1, 50))))
    seen: list[int] = []
    stop = threading.Event()

    def look() -> None:
        while not stop.is_set():
            seen.append(runs_in_force(pool).height)

    reader = threading.Thread(target=look)
    reader.start()

    def until_seen(height: int) -> None:
        wait_for(lambda: seen[-1:] == [height] or not reader.is_alive())

    for number in range(1, 6):
        with opened(pool) as writer:
            send(
                writer, (f"{number}.csv", sheet(*((f"m{number}", "s", share, 1, 1, 50) for share in (0, 40))))
            )
        until_seen(2 * number + 2)
    stop.set()
    reader.join()
    assert seen == sorted(seen)
    assert set(seen) <= {2, 4, 6, 8, 10, 12}
    assert seen[-1] == 12


def test_changed_settings_are_written_down_once_and_hold_from_their_month(tmp_path: Path) -> None:
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock) as writer:
        send(writer, ("a.csv", ONE))
    changed = {**SETTINGS, "target_ratio": 1.5}
    clock.at(2026, 4, 3)
    for _ in range(2):
        with opened(pool, clock, settings=changed):
            pass
    assert [line.event for line in journal.read(pool)[0]].count("settings") == 2
    assert settings_for(pool, "2025-01")["target_ratio"] == 1.25
    assert settings_for(pool, "2026-03")["target_ratio"] == 1.25
    assert settings_for(pool, "2026-04")["target_ratio"] == 1.5


def test_settings_changed_before_anything_was_received_are_the_first(tmp_path: Path) -> None:
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock):
        pass
    with opened(pool, clock, settings={**SETTINGS, "target_ratio": 2.0}) as writer:
        send(writer, ("a.csv", ONE))
    assert settings_for(pool, "2026-01")["target_ratio"] == 2.0


def test_moments_never_run_backwards(tmp_path: Path) -> None:
    pool, clock = tmp_path / "pool", Clock()
    with opened(pool, clock) as writer:
        clock.at(2026, 3, 9, 13)
        (outcome,) = send(writer, ("a.csv", ONE))
    assert [line.at.day for line in journal.read(pool)[0]] == [10, 10, 10]
    assert outcome.received is not None
    assert outcome.received.day == 10


def test_every_line_says_who_and_when(tmp_path: Path) -> None:
    with opened(tmp_path / "pool") as writer:
        send(writer, ("a.csv", ONE))
    line = json.loads((tmp_path / "pool" / journal.JOURNAL).read_text().splitlines()[-1])
    assert (line["by"], line["at"], line["event"]) == ("coordinator", "2026-03-10T12:00:00Z", "received")
    assert times(runs_in_force(tmp_path / "pool"))[0] == ("s", 0.0, 1, 1, 50.0)
    assert runs_in_force(tmp_path / "pool").height == 2


def test_no_room_for_the_readers_copy_takes_the_whole_load_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pool = tmp_path / "pool"
    with opened(pool) as writer:
        send(writer, ("a.csv", ONE))
    before = (pool / journal.JOURNAL).read_bytes()

    def full(pool: Path, last: int) -> None:
        raise OSError(28, "No space left on device")

    with (
        monkeypatch.context() as cut,
        pytest.raises(DrainpoolError, match="taken back"),
        opened(pool) as writer,
    ):
        cut.setattr("pipeline.load.database.store.publish", full)
        send(writer, ("b.csv", TWO))
    assert (pool / journal.JOURNAL).read_bytes() == before
    assert len(list(archive.walk(pool))) == 2, "the first sheet and its rows"
    assert runs_in_force(pool).height == 2
    assert clean(pool)

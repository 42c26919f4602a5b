"""A second kind of sheet lives in a pool beside run sheets, and a column added to a kind finds its place in a pool
that is there already; neither with a step by hand."""

from __future__ import annotations

import shutil
import tarfile
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import polars as pl
import pytest

from pipeline.errors import DrainpoolError
from pipeline.jobs.decisions.steps import restore_runs, withdraw_runs
from pipeline.jobs.keeping.erasing import erase_member
from pipeline.jobs.keeping.steps import rebuild_pool, verify_pool, waiting_by_member
from pipeline.jobs.query.part import Part
from pipeline.jobs.query.steps import answer
from pipeline.jobs.receiving.checking import check_batch
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.jobs.receiving.steps import LoadedBatch, Moment, load_batch
from pipeline.load.database import store
from pipeline.load.views.preview import preview
from pipeline.load.views.reading import runs_in_force, view
from pipeline.settings import Settings
from schemas.column import Column, Kept, Limits
from schemas.kinds.kind import SheetKind
from schemas.kinds.registry import KINDS
from schemas.kinds.run import RUN
from tests.story.rain_log import RAIN_LOG
from tests.unit.intake.writing import sheet

GOLDEN = Path(__file__).parents[1] / "store" / "golden" / "0.1.0" / "pool.tar.xz"
HEADING = "member,series,measured_on,under roof,rain (mm),remarks"
RAIN = f"{HEADING}\nfen-07,garden,2026-03-14,,4.5,\nfen-07,garden,2026-03-15,no,900,\nmoss-2,yard,2026-03-14,,7,\n"
MENDED = f"{HEADING}\nfen-07,garden,2026-03-14,,4.6,read again\nfen-07,garden,2026-03-15,no,9,\n"


def quiet(_words: str) -> None:
    pass


def load(pool: Path, *contents: str) -> LoadedBatch:
    sheets = [Sheet(f"file-{number}.csv", content.encode()) for number, content in enumerate(contents)]
    return load_batch(pool, sheets, [Moment()] * len(sheets), "tester", quiet)


def rain(pool: Path) -> list[tuple[str, str, float]]:
    """(member, day, mm) of the rain rows in force."""
    rows = view(pool, kind=RAIN_LOG).runs
    return rows.select("member", pl.col("measured_on").cast(pl.String), "rain_mm").rows()


def damage(pool: Path) -> list[str]:
    return [f"{one.where}: {one.words}" for one in verify_pool(pool, "tester", quiet) if one.damage]


@pytest.fixture
def pool(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A pool with a run sheet, made before rain logs were read, and a rain log loaded into it since."""
    made = tmp_path / "pool"
    load(made, sheet({"component_share": "0"}, {}))
    monkeypatch.setitem(KINDS, "rain", RAIN_LOG)
    with pytest.raises(DrainpoolError, match=r"type: drainpool verify --pool"):
        view(made)
    loaded = load(made, RAIN)
    assert [(one.accepted, one.held) for one in loaded.outcomes] == [(2, 1)]
    return made


def test_a_rain_log_is_loaded_mended_and_listed(pool: Path) -> None:
    runs = runs_in_force(pool)
    assert runs.height == 2 and rain(pool) == [("fen-07", "2026-03-14", 4.5), ("moss-2", "2026-03-14", 7.0)]
    (waits,) = waiting_by_member(pool)
    assert (waits["member"], waits["sheet_row"]) == ("fen-07", 3) and "500 mm" in waits["message"]
    assert view(pool).counts["held"] == 0, "the figures of runs know nothing of rain"
    batch = check_batch([Sheet("a.csv", MENDED.encode())], Settings(), datetime.now(UTC).date())
    assert "mended 1, added 1, kept 0" in preview(pool, batch)[0][0]
    (outcome,) = load(pool, MENDED).outcomes
    assert "mended 1, added 1, kept 0" in outcome.notes[0]
    assert rain(pool) == [
        ("fen-07", "2026-03-14", 4.6),
        ("fen-07", "2026-03-15", 9.0),
        ("moss-2", "2026-03-14", 7.0),
    ]
    assert waiting_by_member(pool) == [], "the later sheet has an accepted row of that day"
    assert load(pool, MENDED).outcomes[0].already_loaded
    assert runs_in_force(pool).equals(runs)


def test_one_batch_of_both_kinds_and_a_rebuilt_store(pool: Path) -> None:
    load(pool, MENDED, sheet({"member": "bog-1", "component_share": "0"}))
    runs, waiting = runs_in_force(pool), rain(pool)
    assert runs["member"].unique().to_list().count("bog-1") == 1
    assert damage(pool) == []
    (pool / store.STORE).unlink()
    shutil.rmtree(pool / store.PUBLISHED)
    assert rebuild_pool(pool, quiet).runs == runs.height + 4
    assert runs_in_force(pool).equals(runs) and rain(pool) == waiting
    assert damage(pool) == []


def test_it_is_withdrawn_and_brought_back(pool: Path) -> None:
    assert withdraw_runs(pool, ("moss-2", "Yard", None), "a leaking gauge", "tester", quiet).runs == 1
    assert rain(pool) == [("fen-07", "2026-03-14", 4.5)]
    restore_runs(pool, ("moss-2", None, None), "it was tight", "tester", quiet)
    assert len(rain(pool)) == 2


def test_a_member_is_erased_from_both_kinds_and_the_others_stay(pool: Path) -> None:
    gone = erase_member(pool, "Fen-07", "asked", "tester", quiet)
    assert (gone.sheets, gone.shared_sheets, gone.runs, gone.held) == (1, 1, 3, 1)
    assert rain(pool) == [("moss-2", "2026-03-14", 7.0)]
    assert runs_in_force(pool).height == 0 and waiting_by_member(pool) == []
    for path in pool.rglob("*"):
        assert not path.is_file() or b"fen-07" not in path.read_bytes(), path
    assert damage(pool) == []
    rebuild_pool(pool, quiet)
    assert rain(pool) == [("moss-2", "2026-03-14", 7.0)] and damage(pool) == []


def test_a_row_that_was_changed_in_the_store_is_damage(pool: Path) -> None:
    connection = store.connect(pool / store.STORE)
    connection.execute("UPDATE rain_rows SET rain_mm = 8 WHERE member = 'moss-2'")
    connection.close()
    assert any("its accepted rows are not those that were loaded" in one for one in damage(pool))


def test_a_drainpool_without_the_kind_leaves_the_pool_alone(
    pool: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = (pool / "journal.jsonl").read_bytes()
    monkeypatch.delitem(KINDS, "rain")
    with pytest.raises(DrainpoolError, match=r"a kind that this drainpool does not know \(rain\)"):
        load(pool, sheet({"member": "bog-1"}))
    assert (pool / "journal.jsonl").read_bytes() == before


SLOPE = Column(
    name="bench_slope",
    required="no",
    kind="count",
    meaning="How far the bench leans.",
    kept=Kept("bench_slope", "whole", True, "", "How far the bench leans.", limits=Limits(0, 90), since=3),
)


def with_slope() -> SheetKind:
    """The run sheet of a later version, with one column more."""
    return replace(RUN, columns=(*RUN.columns, SLOPE))


def test_a_column_is_added_to_a_pool_of_today(pool: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    runs = runs_in_force(pool)
    monkeypatch.setitem(KINDS, "run", with_slope())
    assert damage(pool) == []
    assert runs_in_force(pool).drop("bench_slope").equals(runs)
    load(pool, sheet({"member": "bog-1", "bench_slope": "3"}))
    seen = runs_in_force(pool)
    assert seen["bench_slope"].drop_nulls().to_list() == [3] and seen.height == runs.height + 1
    rebuild_pool(pool, quiet)
    assert runs_in_force(pool).equals(seen) and damage(pool) == []


def test_a_column_is_added_to_a_pool_of_0_1_0(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with tarfile.open(GOLDEN) as bundle:
        bundle.extractall(tmp_path, filter="data")
    pool = tmp_path / "pool"
    with monkeypatch.context() as later:
        later.setitem(KINDS, "run", with_slope())
        assert damage(pool) == [], "the hashes of the rows are those of before"
        seen = view(pool)
        assert seen.runs.height > 10 and seen.runs["bench_slope"].null_count() == seen.runs.height
        rebuild_pool(pool, quiet)
        assert view(pool).runs.equals(seen.runs) and damage(pool) == []
        answered = answer(pool, Part({}), None)
    assert damage(pool) == []
    assert view(pool).runs.equals(seen.runs.drop("bench_slope"))
    assert answer(pool, Part({}), None).value == answered.value

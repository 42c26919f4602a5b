"""Loading: what a receipt says of the pool, where receipts are kept, and pools made on the way."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from pipeline.errors import DrainpoolError, WrongUseError
from pipeline.jobs.receiving.receipts import RECEIPTS
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.jobs.receiving.steps import (
    LoadedBatch,
    Moment,
    load_batch,
    pool_writer,
    receipt_lines,
    received_moment,
)
from pipeline.load.keeping.opening import is_pool
from pipeline.load.truth.records import Outcome
from pipeline.load.views.reading import runs_in_force
from tests.story.pool_fixture import small_sheet

MARCH = datetime(2026, 3, 20, tzinfo=UTC)


def load(pool: Path, *sheets: Sheet, at: datetime | None = None) -> LoadedBatch:
    return load_batch(pool, sheets, [Moment(at)] * len(sheets), "tests", lambda _line: None)


def good(member: str = "newt-9", **changes: str) -> Sheet:
    return Sheet(f"{member}.csv", small_sheet(member, ("40",), **changes).encode())


def receipts(pool: Path) -> dict[str, str]:
    return {
        str(path.relative_to(pool / RECEIPTS)): path.read_text(encoding="utf-8")
        for path in sorted((pool / RECEIPTS).rglob("*.txt"))
    }


def test_each_new_sheet_leaves_its_receipt_in_its_month(pool: Path) -> None:
    before = receipts(pool)
    load(pool, good(), at=MARCH)
    (name,) = receipts(pool).keys() - before.keys()
    assert name.startswith("2026-03/") and "2 accepted" in receipts(pool)[name]
    load(pool, good(), at=MARCH)
    assert receipts(pool).keys() - before.keys() == {name}, "the same bytes leave no second receipt"


def test_a_batch_without_bytes_makes_no_pool(tmp_path: Path) -> None:
    batch = load(tmp_path / "new", Sheet("gone.csv", None, "there is no such file"))
    assert batch.outcomes == () and batch.results == {}
    assert not (tmp_path / "new").exists()


def test_a_first_load_makes_the_pool_with_its_settings_file(tmp_path: Path) -> None:
    load(tmp_path / "new", good())
    assert is_pool(tmp_path / "new")
    assert "# target_ratio = 1.25" in (tmp_path / "new" / "settings.toml").read_text(encoding="utf-8")


def test_a_settings_file_that_was_there_stays(tmp_path: Path) -> None:
    new = tmp_path / "new"
    new.mkdir()
    (new / "settings.toml").write_text('pool_name = "Five fens"\n', encoding="utf-8")
    load(new, good())
    assert (new / "settings.toml").read_text(encoding="utf-8") == 'pool_name = "Five fens"\n'


def test_a_writer_that_may_not_make_a_pool_refuses_an_empty_folder(tmp_path: Path) -> None:
    with (
        pytest.raises(DrainpoolError),
        pool_writer(tmp_path / "new", "tests", lambda _line: None, make=False),
    ):
        pass
    assert not (tmp_path / "new").exists()


def test_a_broken_settings_file_stops_before_anything_is_written(pool: Path) -> None:
    (pool / "settings.toml").write_text("assurance = 7\n", encoding="utf-8")
    before = (pool / "journal.jsonl").read_bytes()
    with pytest.raises(DrainpoolError, match="assurance"):
        load(pool, good())
    assert (pool / "journal.jsonl").read_bytes() == before


def test_a_mended_sheet_is_told_so_in_receipt_and_keys(pool: Path) -> None:
    batch = load(pool, Sheet("again.csv", small_sheet(drain_time="4:44").encode()))
    assert any("mended" in note for note in batch.notes[0])
    assert batch.load_keys[0]["already_loaded"] is False
    assert batch.in_pool[0] == tuple(batch.notes[0])
    mine = runs_in_force(pool).filter(member_key="fen-07")
    assert mine["drain_time_s"].to_list() == [284.0, 284.0]


def test_the_same_bytes_are_told_with_the_day_of_their_receipt(pool: Path) -> None:
    load(pool, good(), at=MARCH)
    again = load(pool, good())
    assert again.load_keys[0]["already_loaded"] is True
    assert again.notes[0][-1] == "This very file was received before on 2026-03-20. Nothing was changed."


def test_lines_of_an_outcome_without_a_day() -> None:
    outcome = Outcome(0, "a.csv", "ab" * 32, 1, None, True, True, 2, 2, 0, notes=("note",))
    assert receipt_lines(outcome) == ["note", "This very file was received before. Nothing was changed."]


@pytest.mark.parametrize("typed", ["yesterday", "2026-02-30", "14.3.2026", "2026-3-1", ""])
def test_a_day_that_is_none_is_wrong_use(typed: str) -> None:
    with pytest.raises(WrongUseError):
        received_moment(typed)


def test_days_of_receipt() -> None:
    assert received_moment(None) is None
    assert received_moment("2026-03-14") == datetime(2026, 3, 14, tzinfo=UTC)
    with pytest.raises(DrainpoolError, match="future"):
        received_moment("9999-12-31")

"""What readers see of a folder: whether it is a pool, is free for one, and which copy is the newest."""

from __future__ import annotations

from pathlib import Path

from pipeline.jobs.pool_view import EditionsShown, editions_shown, foreign_file, is_pool, newest_copy, view
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.jobs.receiving.steps import Moment, load_batch
from tests.story.pool_fixture import small_sheet


def test_a_pool_and_an_empty_folder_hold_nothing_foreign(pool: Path, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    (pool / "photo.jpg").write_bytes(b"x")
    assert [foreign_file(folder) for folder in (pool, tmp_path / "empty", tmp_path / "missing")] == [None] * 3


def test_a_folder_with_something_else_names_it(tmp_path: Path) -> None:
    for name in ("settings.toml", "inbox"):
        (tmp_path / name).mkdir()
    assert foreign_file(tmp_path) is None, "what may stand in a new pool is not foreign"
    (tmp_path / "thesis.docx").write_bytes(b"x")
    (tmp_path / "albums").mkdir()
    assert foreign_file(tmp_path) == "albums"
    assert not is_pool(tmp_path)


def test_every_change_makes_a_newer_copy(pool: Path) -> None:
    before = newest_copy(pool)
    load_batch(
        pool, [Sheet("a.csv", small_sheet("newt-9").encode())], [Moment()], "tests", lambda _line: None
    )
    after = newest_copy(pool)
    assert before is not None and after is not None and after > before
    assert view(pool).counts["members"] == 7


def test_no_copy_and_no_month_without_a_pool(tmp_path: Path) -> None:
    assert newest_copy(tmp_path) is None
    assert editions_shown(tmp_path, "2026-03") == EditionsShown(None, frozenset())


def test_a_month_that_was_never_made_shows_no_edition(loaded_pool: Path) -> None:
    assert editions_shown(loaded_pool, "2026-03") == EditionsShown(None, frozenset())

"""A month's folder is replaced whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.jobs.month.files.folder import month_folder, put_back, replaced_whole


def names(folder: Path) -> list[str]:
    return sorted(one.name for one in folder.iterdir())


def test_the_new_set_takes_the_place_of_the_old(tmp_path: Path) -> None:
    folder = month_folder(tmp_path, "2026-03")
    for text in ("first", "second"):
        with replaced_whole(folder) as new:
            (new / text).write_text(text)
    assert names(folder) == ["second"] and names(folder.parent) == ["2026-03"]


def test_a_failure_leaves_the_old_set(tmp_path: Path) -> None:
    folder = month_folder(tmp_path, "2026-03")
    with replaced_whole(folder) as new:
        (new / "old").write_text("old")
    with pytest.raises(OSError, match="disk"), replaced_whole(folder) as new:
        (new / "half").write_text("half")
        raise OSError("disk full")
    assert names(folder) == ["old"] and names(folder.parent) == ["2026-03"]


def test_a_first_failure_leaves_nothing(tmp_path: Path) -> None:
    folder = month_folder(tmp_path, "2026-03")
    with pytest.raises(OSError, match="disk"), replaced_whole(folder):
        raise OSError("disk full")
    assert names(folder.parent) == []


def test_a_process_killed_between_the_two_renames_loses_nothing(tmp_path: Path) -> None:
    folder = month_folder(tmp_path, "2026-03")
    folder.mkdir(parents=True)
    (folder / "old").write_text("old")
    folder.rename(folder.with_name(".2026-03.old"))
    folder.with_name(".2026-03.new").mkdir()
    put_back(folder)
    assert names(folder) == ["old"] and names(folder.parent) == ["2026-03"]

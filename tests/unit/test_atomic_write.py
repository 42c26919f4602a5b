"""A file is written whole or not at all."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest

from pipeline.atomic_write import OWNER_ONLY, write_whole


def test_it_replaces_the_file_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    for content in (b"old", b"newer", b""):
        write_whole(path, content)
        assert path.read_bytes() == content
    assert list(tmp_path.iterdir()) == [path]


def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.txt"
    write_whole(path, b"old")

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, "no room")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="no room"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_private_file_is_its_owners_alone(tmp_path: Path) -> None:
    write_whole(tmp_path / "a", b"x", OWNER_ONLY)
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == OWNER_ONLY

"""A pool that is made once for the tests of jobs and desk; a test that changes it takes a copy."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.story.desk_fixture import small_pool


@pytest.fixture(scope="session")
def loaded_pool(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six growers with a series each, two pours: straight base and 40 %. Not to be changed."""
    return small_pool(tmp_path_factory.mktemp("loaded") / "pool")


@pytest.fixture
def pool(loaded_pool: Path, tmp_path: Path) -> Path:
    """A copy of that pool, free to change."""
    return shutil.copytree(loaded_pool, tmp_path / "pool")

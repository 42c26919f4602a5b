"""One desk for the pages' tests; what a test leaves in its inbox is named by the member it uses."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.story.desk_fixture import served
from tests.unit.desk.tested_desk import TestedDesk


@pytest.fixture(scope="module")
def desk(loaded_pool: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestedDesk]:
    """A desk of six growers, shared by the tests of one file."""
    with served(shutil.copytree(loaded_pool, tmp_path_factory.mktemp("desk") / "pool")) as opened:
        yield TestedDesk(opened)

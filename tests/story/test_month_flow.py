"""The flow itself, in this process: what is tried again, what is not, and where the words go."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from pipeline.errors import DrainpoolError
from tests.story.pool_fixture import small_sheet, write

MONTH = "2026-03"


@pytest.fixture(scope="module")
def flows(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ModuleType]:
    """`pipeline.flows`, imported with its home in a folder of its own; one server for all tests here."""
    from pipeline.jobs.month.flow_home import environment

    with pytest.MonkeyPatch.context() as patch:
        for name, value in environment(tmp_path_factory.mktemp("flows")).items():
            patch.setenv(name, value)
        from pipeline import flows

        yield flows


def order_for(folder: Path) -> Any:
    from pipeline.jobs.month.steps import MonthOrder

    (folder / "inbox").mkdir()
    write(folder / "inbox", "a.csv", small_sheet())
    return MonthOrder(folder, MONTH, "Ann")


class Failing:
    """A job that fails some times before it does its work."""

    def __init__(self, job: Any, *failures: Exception) -> None:
        self.job, self.failures, self.calls = job, list(failures), 0

    def __call__(self, *given: Any) -> Any:
        self.calls += 1
        if self.failures:
            raise self.failures.pop(0)
        return self.job(*given)


def test_a_busy_disk_is_tried_again(
    flows: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = Failing(flows.write_month, OSError(errno.EBUSY, "busy"))
    monkeypatch.setattr(flows, "write_month", job)
    made = flows.run_month(order_for(tmp_path), lambda _: None)
    assert job.calls == 2 and made.index.exists()
    assert (made.taken_in.sheets, made.taken_in.accepted) == (1, 2)


def test_what_stands_in_a_sheet_is_not_tried_again(
    flows: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    job = Failing(flows.take_in, DrainpoolError("not this way"))
    monkeypatch.setattr(flows, "take_in", job)
    with pytest.raises(DrainpoolError, match="not this way"):
        flows.run_month(order_for(tmp_path), lambda _: None)
    assert job.calls == 1
    assert "Traceback" not in "".join(capfd.readouterr())
    assert "not this way" in (tmp_path / ".prefect" / "month.log").read_text(encoding="utf-8")


def test_files_go_in_batches_in_order(
    flows: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(flows, "FILES_A_TASK", 2)
    order = order_for(tmp_path)
    for name in ("b", "c", "d", "e"):
        write(tmp_path / "inbox", f"{name}.csv", small_sheet(f"m-{name}"))
    job = Failing(flows.take_in)
    monkeypatch.setattr(flows, "take_in", job)
    made = flows.run_month(order, lambda _: None)
    assert job.calls == 3 and made.taken_in.sheets == 5
    assert made.figures.results["counts"]["members"] == 5

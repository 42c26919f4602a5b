"""A month made in the test's own process without the flow, step by step, so that something can come between."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pipeline.jobs.month.figures import Figures, figures
from pipeline.jobs.month.steps import MonthOrder, next_edition, write_month
from tests.story.pool_fixture import drainpool, small_sheet, write

CLOCKS = (
    "pipeline.jobs.receiving.steps.now",
    "pipeline.jobs.receiving.inbox.now",
    "pipeline.jobs.keeping.erasing.now",
    "pipeline.jobs.keeping.steps.now",
)
"""Where jobs ask for the present moment."""


def quiet(words: str) -> None:
    """Nobody listens."""


def pool_of(folder: Path, *members: str, received: str = "2026-03-20") -> Path:
    """A pool with one sheet of each member."""
    files = [write(folder, f"{member}.csv", own_sheet(member, at)) for at, member in enumerate(members)]
    done = drainpool("load", *files, "--pool", folder / "pool", "--received", received)
    assert done.returncode == 0, done.stderr
    return folder / "pool"


def own_sheet(member: str, at: int) -> str:
    """A member's sheet with times of its own: two that are equal in every value would wait as copies."""
    return small_sheet(member, shares=("40", "55")).replace(":10", f":{10 + at}")


def begun(pool: Path, month: str, correct: bool = False) -> Figures:
    """The figures of the edition that a run would make; its pages are still to be written."""
    reason = "a test" if correct else None
    return figures(pool, next_edition(MonthOrder(pool, month, "Ann", correct, reason), quiet))


def made(pool: Path, month: str, correct: bool = False, say: Callable[[str], None] = quiet) -> Figures:
    """A month made to the end."""
    values = begun(pool, month, correct)
    assert write_month(pool, values, say) is not None
    return values


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by its path."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }

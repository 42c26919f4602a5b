"""What changed between two reports of a pool, as counts of runs."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Changed:
    """Counts of runs, but for `answered`, which counts questions. `new`: counted for the first time. `mended`: a later
    sheet took their place. `back`: put back after a withdrawal, or kept after they were set aside. `waits`: a question
    about them is open. `method`: the version that made the report before, where it is not this one."""

    new: int = 0
    mended: int = 0
    withdrawn: int = 0
    erased: int = 0
    set_aside: int = 0
    back: int = 0
    waits: int = 0
    answered: int = 0
    method: str | None = None

"""Lines of parts of the pool side by side: `between_levels` of `query --by`, and the pages that show parts."""

from __future__ import annotations

from typing import NotRequired, TypedDict


class LevelLine(TypedDict):
    """One level of a split beside the level that most growers measured, at one share."""

    level: str
    against: str
    share: float
    ratio_of_ratios: float | None
    ci: list[float] | None
    members: int
    members_against: int
    members_with_both: int
    series: int
    why: NotRequired[str]


class PartLine(TypedDict):
    """Pooled ratio of one part of the pool at one share, with its 95 % interval `low` to `high`."""

    share: float
    ratio: float
    low: float
    high: float
    growers: int

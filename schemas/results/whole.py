"""`results.json` as a whole, and the answer of `query --format json`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NotRequired, TypedDict

from schemas.results.component import ComponentValue
from schemas.results.lines import LevelLine

PartValue = dict[str, str | Sequence[str | float | None]]
"""A part of the pool by option: the values asked for, a range of pot volumes in ml, or a day."""


class ResultsValue(TypedDict):
    """One edition of a month, before numbers are rounded."""

    month: str
    open: bool
    edition: int
    as_of: str
    invented: bool
    scope: str
    counts: dict[str, int]
    waits: int
    settings: Mapping[str, object]
    components: dict[str, ComponentValue]
    erased: NotRequired[int]


class GroupValue(TypedDict):
    """One level of the split that was asked for."""

    by: str
    level: str
    components: Mapping[str, ComponentValue]


class QueryValue(TypedDict):
    """What `query --format json` says; `against` only where a share was named, `between_levels` only with `--by`."""

    as_of: str
    invented: bool
    where: PartValue
    components: Mapping[str, ComponentValue]
    groups: list[GroupValue]
    against: NotRequired[float]
    between_levels: NotRequired[dict[str, list[LevelLine]]]

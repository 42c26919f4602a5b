"""How many runs of each component wait for an answer, written beside its figures."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from schemas.results.component import ComponentValue


def waits_by_component(waiting: pl.DataFrame) -> dict[str, int]:
    """By component, how many of these waiting runs are of it; straight base alone has no component."""
    return dict(waiting.drop_nulls("component").group_by("component").len().iter_rows())


def with_waits(
    components: Mapping[str, ComponentValue], waits: Mapping[str, int]
) -> dict[str, ComponentValue]:
    """The components with their `waits`; the comparison was not given these runs."""
    return {name: {**component, "waits": waits.get(name, 0)} for name, component in components.items()}

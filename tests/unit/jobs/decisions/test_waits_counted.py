"""Waiting runs are counted beside the figures of their component."""

from __future__ import annotations

from typing import Any, cast

import polars as pl

from pipeline.jobs.decisions.waits_counted import waits_by_component, with_waits
from schemas.results.component import ComponentValue


def test_each_component_has_its_own_count() -> None:
    components: dict[str, Any] = {"perlite": {"waits": 0}, "pumice": {"waits": 0}}
    waits = waits_by_component(pl.DataFrame({"component": ["perlite", "perlite", None]}))
    counted = with_waits(cast(dict[str, ComponentValue], components), waits)
    assert {name: value["waits"] for name, value in counted.items()} == {"perlite": 2, "pumice": 0}

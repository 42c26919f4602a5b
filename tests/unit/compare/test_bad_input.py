"""Pools that can't be compared: each gives a worded outcome, never a traceback or a NaN in `results.json`."""

from __future__ import annotations

import json
from typing import Any, cast

import pytest

from pipeline.compare.steps import compare_runs
from pipeline.settings import Settings
from tests.unit.compare.conftest import MakeFrame, MakePool, Rows


def component(frame: MakeFrame, rows: Rows, name: str = "perlite", **settings: Any) -> dict[str, Any]:
    comparison = compare_runs(frame(rows), Settings(**settings))
    json.dumps(comparison.components, allow_nan=False)
    return cast("dict[str, Any]", comparison.components[name])


def every_null_has_a_reason(value: object) -> bool:
    """Every dictionary that holds a null also holds a sentence."""
    if isinstance(value, list):
        return all(every_null_has_a_reason(one) for one in value)
    if not isinstance(value, dict):
        return True
    missing = [key for key, one in value.items() if one is None and key != "why"]
    return (not missing or bool(value.get("why"))) and all(
        every_null_has_a_reason(one) for one in value.values()
    )


def test_no_baseline_anywhere(frame: MakeFrame, pool: MakePool) -> None:
    rows = [row for row in pool(members=8) if row["component_share"] > 0]
    block = component(frame, rows)
    assert block["recommendation"]["verdict"] == "too_few"
    assert "No series has a baseline mix" in block["recommendation"]["text"]
    assert all(share["ratio"] is None and share["members"] == 0 for share in block["shares"])
    assert every_null_has_a_reason(block)


def test_one_member(frame: MakeFrame, pool: MakePool) -> None:
    block = component(frame, pool(members=1))
    assert block["recommendation"]["verdict"] == "too_few"
    assert every_null_has_a_reason(block)


def test_a_share_whose_every_run_was_stopped(frame: MakeFrame, pool: MakePool) -> None:
    rows = [{**row, "ended": "stopped"} if row["component_share"] == 15 else row for row in pool(members=8)]
    block = component(frame, rows)
    first = block["shares"][0]
    assert (first["share"], first["stopped"] > 0) == (15.0, True)
    assert every_null_has_a_reason(block)
    assert all(share["verdict"] != "clears" or share["p_clears"] >= 0.8 for share in block["shares"])


def test_every_baseline_stopped(frame: MakeFrame, pool: MakePool) -> None:
    rows = [{**row, "ended": "stopped"} if row["component_share"] == 0 else row for row in pool(members=8)]
    block = component(frame, rows)
    assert all(share["verdict"] != "clears" for share in block["shares"])
    assert every_null_has_a_reason(block)


@pytest.mark.parametrize("step", [1.0, 0.0])
def test_zero_variance(frame: MakeFrame, pool: MakePool, step: float) -> None:
    rows = [{**row, "drain_time_s": 120.0} for row in pool(members=8)]
    block = component(frame, rows, stopwatch_step_s=step)
    assert all(share["ratio"] == pytest.approx(1.0) for share in block["shares"])
    assert all(share["verdict"] == "falls_short" for share in block["shares"])
    assert every_null_has_a_reason(block)


def test_a_share_measured_once(frame: MakeFrame, pool: MakePool) -> None:
    rows = [
        *pool(members=8),
        {"member": "fen-00", "series": "bench 0", "component_share": 80.0, "drain_time_s": 40.0},
    ]
    block = component(frame, rows)
    last = block["shares"][-1]
    assert (last["share"], last["members"], last["verdict"], last["ratio"]) == (80.0, 1, "too_few", None)
    assert block["recommendation"]["verdict"] == "enough"
    assert every_null_has_a_reason(block)


def test_a_thousand_identical_replicates(frame: MakeFrame, pool: MakePool) -> None:
    rows = pool(members=6, pots=1)
    times = [{**row, "pot_no": pot} for row in rows if row["member"] == "fen-00" for pot in range(1, 1001)]
    block = component(frame, rows[8:] + times)
    assert block["repeatability"]["measured"] is False
    assert every_null_has_a_reason(block)
    every = [{**row, "pot_no": pot} for row in rows for pot in range(1, 21)]
    assert component(frame, every)["repeatability"]["sd_pot"] == 0.0


def test_a_share_of_a_hundred_percent(frame: MakeFrame, pool: MakePool) -> None:
    block = component(frame, pool(members=8, curve={50.0: 0.5, 100.0: 2.0}))
    assert block["shares"][-1]["share"] == 100.0
    assert block["recommendation"]["parts"] is not None


def test_only_runs_that_ran_dry(frame: MakeFrame, pool: MakePool) -> None:
    rows = [{**row, "ended": "ran_dry"} for row in pool(members=6)]
    block = component(frame, rows)
    assert all(share["ran_dry"] > 0 and share["ratio"] is None for share in block["shares"])
    assert every_null_has_a_reason(block)


def test_all_effects_of_one_kind_and_few_rows(frame: MakeFrame, pool: MakePool) -> None:
    block = component(frame, pool(members=3, series=1, pots=1, curve={40.0: 0.5}))
    assert block["shares"][0]["ratio"] > 1
    assert every_null_has_a_reason(block)

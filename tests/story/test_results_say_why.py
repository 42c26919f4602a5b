"""Every null in the demo's `results.json` has a sentence beside it, and no number is one that JSON does not know."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.story.pool_fixture import DemoPool

SAMPLES = Path(__file__).resolve().parents[2] / "contrib_samples" / "demo"


def unexplained(value: Any, where: str = "") -> Iterator[str]:
    """Places where something is null and no `why` stands in the same object."""
    if isinstance(value, dict):
        if any(one is None for name, one in value.items() if name != "why") and not value.get("why"):
            yield where
        for name, one in value.items():
            yield from unexplained(one, f"{where}/{name}")
    elif isinstance(value, list):
        for at, one in enumerate(value):
            yield from unexplained(one, f"{where}[{at}]")


def numbers(value: Any) -> Iterator[float]:
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for one in value:
            yield from numbers(one)
    elif isinstance(value, float):
        yield value


@pytest.mark.parametrize("month", ["2026-03", "2026-04", "2026-05"])
def test_nothing_is_null_without_a_reason(demo_pool: DemoPool, month: str) -> None:
    results = demo_pool.results(month)
    assert list(unexplained(results)) == []
    found = list(numbers(results))
    assert found and all(math.isfinite(one) for one in found)
    assert all(float(f"{one:.6g}") == one for one in found), "six significant digits"


@pytest.mark.parametrize("month", ["2026-03", "2026-04", "2026-05"])
def test_the_contracts_keys_are_there(demo_pool: DemoPool, month: str) -> None:
    results = demo_pool.results(month)
    head = {"month", "open", "edition", "as_of", "invented", "scope", "counts", "settings", "components"}
    assert head <= set(results) and results["month"] == month and results["invented"] is True
    assert {"members", "series", "runs", "held"} <= set(results["counts"])
    share_keys = {
        "share",
        "ratio",
        "ci",
        "new_series",
        "p_faster",
        "p_clears",
        "p_faster_pot",
        "p_clears_pot",
    }
    for component in results["components"].values():
        blocks = [component, *component["grades"].values()]
        assert {"settled", "bases"} <= set(component)
        for block in blocks:
            assert {"heterogeneity", "repeatability", "recommendation", "shares"} <= set(block)
            assert {"sd_member", "sd_series", "i2"} <= set(block["heterogeneity"])
            assert {"cv_pot", "cv_member"} <= set(block["repeatability"])
            assert {"share", "parts", "verdict", "text"} <= set(block["recommendation"])
            shares = [line["share"] for line in block["shares"]]
            assert shares == sorted(shares) and 0 not in shares
            assert all(share_keys | {"members", "series", "verdict"} <= set(line) for line in block["shares"])
            assert all(
                line["verdict"] in {"too_few", "clears", "falls_short", "undecided"}
                for line in block["shares"]
            )


@pytest.mark.parametrize("state", ["fresh", "settled"])
def test_the_last_month_holds_the_truth_it_was_drawn_from(demo_pool: DemoPool, state: str) -> None:
    """The stated truth lies inside the pooled intervals at all shares but one at most; the seed was fixed before."""
    truth = json.loads((SAMPLES / "truth.json").read_text(encoding="utf-8"))
    stated = {line["share"]: line["ratio"] for line in truth["as_sampled"]["2026-05"][state]["pooled"]}
    perlite = demo_pool.results("2026-05")["components"]["perlite"]
    found = [line for line in (perlite if state == "fresh" else perlite["settled"])["shares"] if line["ci"]]
    missed = [line["share"] for line in found if not line["ci"][0] <= stated[line["share"]] <= line["ci"][1]]
    assert len(found) >= 6
    assert len(missed) <= 1, missed
    assert perlite["recommendation"]["verdict"] == "enough"

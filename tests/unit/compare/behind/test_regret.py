"""The line on expected regret: off until the club weighs, smaller shares where too much weighs more."""

from __future__ import annotations

from typing import Any, cast

import pytest

from pipeline.compare.steps import compare_runs
from pipeline.settings import Settings
from tests.unit.compare.conftest import MakeFrame, MakePool


@pytest.fixture
def regret_at(frame: MakeFrame, pool: MakePool) -> Any:
    """The line of a pool of eight at these two weights."""
    runs = frame(pool(members=8, series=1, pots=1, spread=0.15, curve={15.0: 0.05, 30.0: 0.2, 45.0: 0.5}))

    def made(too_little: float, too_much: float) -> dict[str, Any]:
        settings = Settings(weight_of_too_little=too_little, weight_of_too_much=too_much)
        return cast(dict[str, Any], compare_runs(runs, settings).components["perlite"]["regret"])

    return made


def test_it_is_off_until_both_weights_are_set(regret_at: Any) -> None:
    for weights in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)):
        value = regret_at(*weights)
        assert value["share"] is None and value["shares"] == [] and "no weights" in value["why"]


def test_a_dear_shortfall_asks_for_a_larger_share(regret_at: Any) -> None:
    shares = [regret_at(weight, 1.0)["share"] for weight in (0.05, 1.0, 50.0)]
    assert shares == sorted(shares) and shares[0] < shares[-1] == 45.0
    value = regret_at(2.0, 1.0)
    least = min(value["shares"], key=lambda line: (line["regret"], line["share"]))
    assert value["share"] == least["share"]
    assert all(line["regret"] > 0 for line in value["shares"])

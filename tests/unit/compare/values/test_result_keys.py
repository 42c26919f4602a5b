"""Every key of a component stands in `schemas.results.keys`, and every key there stands in a component."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pipeline.compare.steps import compare_runs
from pipeline.settings import Settings
from schemas.results.keys import RESULT_KEYS
from schemas.trade.verdicts import RECOMMENDATIONS, VERDICTS
from tests.unit.compare.conftest import MakeFrame, MakePool

OPEN_ENDED = {
    "counts",
    "grades",
    "bases",
    "settled",
    "sensitivity",
    "choices",
    "spread_intervals",
    "contrasts",
}
OPEN_ENDED |= {"exploratory", "settling", "small_shares", "bend", "agreement", "apart", "rests_on", "regret"}
REPEATED = {"why"}


def paths(block: Mapping[str, Any]) -> Iterator[str]:
    for key, value in block.items():
        yield key
        inner = value[0] if isinstance(value, list) and value else value
        if isinstance(inner, dict) and key not in OPEN_ENDED:
            yield from (f"{key}.{one}" for one in inner if one not in REPEATED)


def test_the_table_and_the_values_name_the_same_keys(frame: MakeFrame, pool: MakePool) -> None:
    block = compare_runs(frame(pool(members=6, pours=2)), Settings()).components["perlite"]
    known = {key.path for key in RESULT_KEYS} - {"shares.why", "settled.pour", "shares.stopped_clocks"}
    of_parts = {path.split(".")[1] for path in known if path.startswith("grades.")}
    known = {path for path in known if not path.startswith("grades.")}
    known |= {path.partition(".")[0] for path in known}
    assert set(paths(block)) == known
    assert "pour" in block["settled"]
    assert set(block["grades"]["medium"]) - {"why"} == set(block["grades"]["medium"]["alone"]) | of_parts


def test_verdicts_are_those_of_the_table(frame: MakeFrame, pool: MakePool) -> None:
    block = compare_runs(frame(pool(members=8)), Settings()).components["perlite"]
    assert {share["verdict"] for share in block["shares"]} <= set(VERDICTS)
    assert block["recommendation"]["verdict"] in RECOMMENDATIONS

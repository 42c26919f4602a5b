"""The companion against a hand-written random walk on three invented pools (spread_posterior/metropolis.py)."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Ties, independence
from pipeline.compare.model.design import headline_design
from pipeline.compare.model.rotation import reduce_layout
from pipeline.compare.posterior.companion import companion, prior_scales, spread_posterior

CASES = json.loads((Path(__file__).parent / "spread_posterior" / "expected.json").read_text(encoding="utf-8"))
RUN_VARIANCE = 0.01

# Four Monte Carlo errors of the chains, and what 512 nodes may be off: a chance by .004, a range by .02 on ln. A spread
# is the loosest, since the proposal is made for chances; .006 is a fortieth of the prior's scale.
CHANCE, RANGE, SPREAD = 0.004, 0.02, 0.006


@pytest.fixture(params=sorted(CASES))
def case(request):
    pool, expected = CASES[request.param]["pool"], CASES[request.param]["expected"]
    member = np.array(pool["member"], dtype=np.int64)
    rows = len(member)
    effects = Effects(
        member=member,
        series=np.array(pool["series"], dtype=np.int64),
        share=np.array(pool["share"]),
        reference=np.zeros(rows),
        y=np.array(pool["ln_ratio"]),
        own_variance=np.full(rows, RUN_VARIANCE),
        reference_variance=np.full(rows, RUN_VARIANCE),
        pots=np.ones(rows, dtype=np.int64),
        reference_pots=np.ones(rows, dtype=np.int64),
    )
    growers = [int(code) for code in member]
    return headline_design(effects, independence(growers, Ties({}, {}, {}), growers)), expected


def test_chances_ranges_and_joint_chances_agree(case) -> None:
    design, expected = case
    found = companion(design, reduce_layout(design.layout), RUN_VARIANCE, 1.25, 40.0)
    for name, values, own in (
        ("faster", found.p_faster, CHANCE),
        ("clears", found.p_clears, CHANCE),
        ("all", found.p_all, CHANCE),
        ("low", found.new_low, RANGE),
        ("high", found.new_high, RANGE),
    ):
        error = np.array(expected[name]["error"])
        assert np.all(np.abs(values - expected[name]["value"]) <= 4 * error + own), name


def test_mean_spreads_agree(case) -> None:
    design, expected = case
    found = spread_posterior(reduce_layout(design.layout), prior_scales(design, 40.0))
    means = dict(zip(design.layout.variance_names, found.weight @ np.sqrt(found.variances), strict=True))
    ordered = np.array([means[name] for name in ("member_0", "member_1", "series_0", "mix")])
    error = 4 * np.array(expected["sds"]["error"]) + SPREAD * np.array([1, 2.5, 1, 1])
    assert np.all(np.abs(ordered - expected["sds"]["value"]) <= error)

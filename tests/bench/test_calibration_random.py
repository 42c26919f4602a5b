"""The bench over random truths, tried on a few pools: `pytest tests/bench/test_calibration_random.py`."""

from __future__ import annotations

import numpy as np

from tests.bench import calibration_random as bench
from tests.bench.calibration import read_records
from tests.bench.calibration_pools import SHARES


def test_truths_spread_over_the_stated_ranges():
    truths = [bench.draw_truth(np.random.default_rng([1, seed])) for seed in range(400)]
    growers = np.array([truth.growers for truth in truths])
    assert growers.min() == 5 and growers.max() == 30
    assert 0.05 < np.mean([np.all(truth.curve == 0) for truth in truths]) < 0.25
    assert 0.1 < np.mean([truth.stopped > 0 for truth in truths]) < 0.3
    assert {truth.clubs for truth in truths} == {0, 3, 6}


def test_new_growers_come_from_the_stated_truth():
    rng = np.random.default_rng(3)
    truth = bench.draw_truth(rng)
    new = bench.series_ratios(truth, rng, bench.grower_effects(truth, rng, 40_000))
    x = SHARES / 100
    both = 2 * truth.correlation * truth.sd_level * truth.sd_slope * x
    variance = truth.sd_level**2 + (truth.sd_slope * x) ** 2 + both + truth.sd_series**2 + 2 * truth.sd_mix**2
    assert np.allclose(new.mean(axis=0), truth.curve, atol=0.02)
    assert np.allclose(new.var(axis=0), variance, rtol=0.06)


def test_a_run_goes_on_where_it_ended_and_prints_its_table(tmp_path, capsys):
    bench.main([str(tmp_path), "--pools", "3"])
    before = read_records(tmp_path / "pools.jsonl")
    bench.main([str(tmp_path), "--pools", "5"])
    after = read_records(tmp_path / "pools.jsonl")
    assert after[:3] == before and [one["seed"] for one in after] == [0, 1, 2, 3, 4]
    assert all(0 <= line["true"] <= 1 for one in after for line in one["shares"])
    lines = capsys.readouterr().out.strip().splitlines()
    assert sum(line.startswith("| all |") for line in lines) == 4
    bench.main([str(tmp_path), "--table"])
    assert len(read_records(tmp_path / "pools.jsonl")) == 5


def test_a_careful_chance_can_only_take_a_clears_away():
    line = {"share": 35.0, "verdict": "clears", "p": [0.9, 0.7], "true": 0.7, "cover": [0.9, 0.95]}
    record = {"shares": [line], "flat": False, "growers": 5}
    assert (bench.enough_of(record, 0), bench.enough_of(record, 1)) == (0, None)
    before, after = bench.summary("one", [record])
    assert (before["right clears"], after["right clears"]) == (0.0, None)

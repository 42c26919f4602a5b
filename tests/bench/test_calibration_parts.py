"""The bench of parts, tried on a few pools: `pytest tests/bench/test_calibration_parts.py`."""

from __future__ import annotations

import numpy as np

from tests.bench import calibration_parts as bench
from tests.bench.calibration import read_records
from tests.bench.calibration_random import draw_truth, make


def test_the_shift_is_on_every_mix_of_its_growers_and_on_no_baseline():
    truth = draw_truth(np.random.default_rng(4))
    shift = np.array([0.0, 50.0])
    runs = bench.draw_runs(truth, shift, np.random.default_rng(1))
    mixes = runs.share > 0
    assert runs.log_rate[mixes & (runs.member == 1)].min() > 30
    assert np.abs(runs.log_rate[~mixes]).max() < 10
    assert np.abs(runs.log_rate[mixes & (runs.member == 0)]).max() < 10


def test_a_run_goes_on_where_it_ended_even_after_a_cut_line(tmp_path):
    def pool(seed):
        return {"seed": seed, "difference": 0.1, "whole": 45.0, "parts": [part(seed)]}

    make(tmp_path, range(3), "", pool)
    path = tmp_path / "pools.jsonl"
    path.write_text(path.read_text()[:-20])
    make(tmp_path, range(5), "", pool)
    records = read_records(path)
    assert sorted(one["seed"] for one in records) == [0, 1, 2, 3, 4]
    (line,) = bench.lines(records)
    assert (line["parts"], line["shown"], line["right"]) == (5, 0.6, 1.0)
    assert line["alone: right"] == 0.0


def part(seed):
    """What is kept of one part: shown in even seeds, right when borrowing, wrong alone."""
    return {
        "growers": 5, "differs": True, "shown": seed % 2 == 0, "borrowed": 0.9, "alone": 0.5, "same": True,
        "alone_same": False, "at_whole": 0.9,
    }  # fmt: skip

"""The censored mixed likelihood: its gradient, its closed form, its grid; and what it does for a pool with many stopped clocks."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any, cast

import numpy as np
import pytest

from pipeline.compare.steps import compare_runs
from pipeline.compare.stopped import answer as stopped_answer
from pipeline.compare.stopped import mixed_likelihood
from pipeline.compare.stopped.mixed_likelihood import Point, StoppedRuns, contributions
from pipeline.settings import Settings
from tests.unit.compare.conftest import MakeFrame, MakePool

POINT = Point(np.array([0.3, 0.7]), np.zeros(6), 0.15, 0.2, 0.12, 0.4)


def drawn(stopped: bool = True, seed: int = 2) -> StoppedRuns:
    """Three members with two series each, five runs a series; the slowest runs stopped."""
    rng = np.random.default_rng(seed)
    series = np.repeat(np.arange(6), 5)
    member = np.arange(6) // 2
    share = np.tile([0.0, 0.0, 0.3, 0.3, 0.6], 6)
    y = 1.2 * share + rng.normal(0, 0.25, 30)
    censored = (y < np.quantile(y, 0.25)) if stopped else np.zeros(30, dtype=bool)
    X = np.column_stack([share == 0.3, share == 0.6]).astype(float)

    def centred(column: np.ndarray) -> np.ndarray:
        return column - (np.bincount(series, weights=column) / np.bincount(series))[series]

    return StoppedRuns(y, censored, X, centred((share > 0).astype(float)), centred(share), series, member)


MOVES: dict[int, Callable[[Point, float], Point]] = {
    0: lambda p, d: replace(p, means=p.means + np.array([d, 0.0])),
    1: lambda p, d: replace(p, means=p.means + np.array([0.0, d])),
    2: lambda p, d: replace(p, sd=p.sd * np.exp(d)),
    3: lambda p, d: replace(p, level=p.level * np.exp(d)),
    4: lambda p, d: replace(p, series=p.series * np.exp(d)),
    5: lambda p, d: replace(p, slope=p.slope * np.exp(d)),
}


@pytest.mark.parametrize("position", MOVES)
@pytest.mark.parametrize("stopped", [True, False])
def test_gradient_equals_differences(position: int, stopped: bool) -> None:
    runs, move = drawn(stopped), MOVES[position]
    ends = [math.fsum(one.value for one in contributions(runs, move(POINT, d))) for d in (1e-5, -1e-5)]
    gradient = np.sum([one.shared for one in contributions(runs, POINT)], axis=0)
    assert gradient[position] == pytest.approx((ends[0] - ends[1]) / 2e-5, rel=1e-5, abs=1e-5)


def test_quadrature_equals_the_closed_form_where_nothing_was_stopped() -> None:
    runs = drawn(stopped=False)
    residual = runs.y - runs.X @ POINT.means
    grid = mixed_likelihood._grid(POINT, True)
    for member in range(3):
        series = np.flatnonzero(runs.member == member)
        by_grid = mixed_likelihood._by_quadrature(runs, POINT, grid, residual, series)
        closed = contributions(runs, POINT)[member]
        assert by_grid.value == pytest.approx(closed.value, abs=1e-9)
        assert by_grid.shared == pytest.approx(closed.shared, abs=1e-7)
        assert by_grid.own == pytest.approx(closed.own, abs=1e-7)


def test_twice_the_points_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    runs = drawn()
    before = sum(one.value for one in contributions(runs, POINT))
    monkeypatch.setattr(mixed_likelihood, "POINTS", 161)
    assert sum(one.value for one in contributions(runs, POINT)) == pytest.approx(before, abs=1e-9)


def test_capped_baselines_are_answered_by_the_censored_likelihood(frame: MakeFrame, pool: MakePool) -> None:
    """Leaving the stopped baselines out would hide the slowing at 15 %; taken in as bounds, the truth is found."""
    truth = {15.0: -0.25, 45.0: 0.6}
    rows = pool(members=9, series=2, pots=1, curve=truth, seed=3, component_grade=None)
    cap = np.quantile([row["drain_time_s"] for row in rows if row["component_share"] == 0], 0.6)
    stopped = [
        {**row, "drain_time_s": float(cap), "ended": "stopped"} if row["drain_time_s"] > cap else row
        for row in rows
    ]
    block = cast("dict[str, Any]", compare_runs(frame(stopped), Settings()).components["perlite"])
    for share in block["shares"]:
        assert share["stopped"] > 0 or share["share"] > 15
        assert share["ci"][0] < np.exp(truth[share["share"]]) < share["ci"][1]
    checks = {line["check"] for line in block["robustness"]}
    assert "stopped_left_out" in checks


def test_where_it_cannot_be_fitted_nothing_clears_and_the_reason_is_given(frame, pool, monkeypatch):
    monkeypatch.setattr(stopped_answer, "two_readings", lambda *_: None)
    rows = pool(members=8, curve={30.0: 0.8, 60.0: 1.2}, series=1, pots=1)
    given = stopped_at(rows, lambda row: row["member"] > "fen-03")
    block = compare_runs(frame(given), Settings(), behind=False).components["perlite"]
    assert all(share["verdict"] in ("undecided", "too_few") for share in block["shares"])
    text = block["recommendation"]["text"]
    assert "4 clocks were stopped before the water was out, of 24 runs" in text
    assert "A longer limit on the clock or a smaller pour would help." in text


def test_fixed_clubs_and_stopped_baselines_are_read_together(frame, pool):
    rows = pool(members=8, curve={30.0: 0.8, 60.0: 1.2}, series=1, pots=1)
    given = stopped_at(rows, lambda row: row["member"] > "fen-02")
    clubs = [{**row, "club": "a" if row["member"] < "fen-04" else "b"} for row in given]
    block = compare_runs(frame(clubs), Settings(), behind=False).components["perlite"]
    shares = cast("list[dict[str, Any]]", block["shares"])
    for share, truth in zip(shares, (0.8, 1.2), strict=True):
        assert share["ci"][0] < np.exp(truth) < share["ci"][1]
        readings = [share["stopped_clocks"]["plain"], *share["stopped_clocks"]["related"]]
        assert share["p_clears"] == pytest.approx(min(reading["p_clears"] for reading in readings))


def stopped_at(rows, chosen):
    """The rows with these baselines stopped at the time that they took."""
    return [
        {**row, "ended": "stopped"} if row["component_share"] == 0 and chosen(row) else row for row in rows
    ]


def test_one_stopped_baseline_of_many_takes_no_verdict_away_with_clubs(frame, pool):
    rows = pool(members=24, series=1, pots=1, curve={40.0: 0.8})
    rows = [{**row, "club": f"club-{int(row['member'][-2:]) % 6}"} for row in rows]
    given = stopped_at(rows, lambda row: row["member"] == "fen-03")
    block = compare_runs(frame(given), Settings(), behind=False).components["perlite"]
    share = cast("dict[str, Any]", block["shares"][0])
    assert share["verdict"] == "clears"
    assert share["stopped_clocks"]["plain"]["rho"] == 0.0
    lowest = min(
        reading["p_clears"]
        for reading in [share["stopped_clocks"]["plain"], *share["stopped_clocks"]["related"]]
    )
    assert share["p_clears"] == pytest.approx(lowest)
    assert share["reml"]["p_clears"] >= 0.8


def test_a_pool_with_every_baseline_stopped_is_told_of_clocks_not_of_growers(frame, pool):
    given = stopped_at(pool(members=8, series=1, pots=1), lambda row: True)
    block = compare_runs(frame(given), Settings(), behind=False).components["perlite"]
    assert "8 clocks were stopped before the water was out" in block["recommendation"]["text"]
    assert "a smaller pour would help" in block["recommendation"]["text"]
    assert "Too few growers" not in block["recommendation"]["text"]

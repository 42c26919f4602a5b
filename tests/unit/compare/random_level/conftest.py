"""Invented single runs, some stopped early, straight into the random-level layout."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from pipeline.compare.random_level.fit import LevelFit, fit_random_level
from pipeline.compare.random_level.stopped_pool import PooledRuns, StoppedPool

SHARES = (0.0, 20.0, 50.0)


def drawn_runs(
    members: int = 8,
    seed: int = 1,
    series: int = 2,
    pots: int = 1,
    stopped: float = 0.4,
    level: float = 0.4,
    spread: float = 0.15,
    curve: tuple[float, ...] = (0.0, 0.1, 0.4),
    clubs: int = 0,
    fixed: bool = False,
) -> PooledRuns:
    """Growers' runs; this part of the baselines lies at or below the common bound, and mixes below it are stopped too."""
    rng = np.random.default_rng(seed)
    rows = []
    number = 0
    for grower in range(members):
        ratio = rng.normal(0, spread)
        for _ in range(series):
            base, shift = rng.normal(0, level), rng.normal(0, 0.08)
            for share, mean in zip(SHARES, curve, strict=True):
                mix = (share > 0) * (ratio + shift + mean + rng.normal(0, 0.06))
                rows += [(grower, number, share, base + mix + rng.normal(0, 0.1)) for _ in range(pots)]
            number += 1
    table = np.array(rows)
    y = table[:, 3]
    bound = np.quantile(y[table[:, 2] == 0], stopped) if stopped else -np.inf
    member = table[:, 0].astype(np.int64)
    return PooledRuns(
        member,
        table[:, 1].astype(np.int64),
        member % clubs if clubs else member,
        table[:, 2],
        np.maximum(y, bound),
        y < bound,
        fixed,
    )


def fitted(pool: StoppedPool, rho: float | None = 0.0, near: LevelFit | None = None) -> LevelFit:
    """`fit_random_level` of a pool that has a maximum."""
    fit = fit_random_level(pool, rho, near)
    assert fit is not None
    return fit


@pytest.fixture
def runs() -> Callable[..., PooledRuns]:
    """`drawn_runs`."""
    return drawn_runs

"""The posterior of the spreads a second time, slowly: a random walk (Metropolis) over dense matrices, from the methods
note alone; nothing of the tool is imported.

    python tests/reference/spread_posterior/metropolis.py

draws three invented pools and writes them with their expected values to expected.json beside this file. Each figure
carries the Monte Carlo error found from the spread between eight independent chains.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
from scipy.special import ndtr

SHARES = np.array([15.0, 30.0, 45.0, 60.0])
MEANS = np.array([0.0, 0.2, 0.5, 0.7])
SCALE, REFERENCE, RUN_SD, RATIO = 0.25, 0.40, 0.10, 1.25
POOLS = {"five_alike": (5, 0.03, 41), "eight": (8, 0.20, 42), "twelve": (12, 0.15, 43)}
CHAINS, STEPS, BURN = 8, 9000, 1000


def draw(members: int, spread: float, seed: int) -> dict[str, list[float]]:
    """Contrasts of an invented pool: member, series, share, ln ratio to the series' baseline, one pot each."""
    rng = np.random.default_rng(seed)
    rows = []
    series = 0
    for member in range(members):
        level, slope = rng.normal(0, spread), rng.normal(0, 2 * spread)
        for _ in range(rng.integers(1, 3)):
            own, base = rng.normal(0, 0.08), rng.normal(0, RUN_SD)
            for share, mean in zip(SHARES, MEANS, strict=True):
                error = rng.normal(0, 0.05) + rng.normal(0, RUN_SD)
                if rng.random() < 0.85:
                    y = mean + level + slope * share / 100 + own + error - base
                    rows.append((member, series, share, float(y)))
            series += 1
    return {
        name: [row[k] for row in rows] for k, name in enumerate(("member", "series", "share", "ln_ratio"))
    }


class Dense:
    """Log posterior and conditional means of one pool, every matrix written out."""

    def __init__(self, pool: dict[str, list[float]]) -> None:
        member, series = np.array(pool["member"]), np.array(pool["series"])
        share, self.y = np.array(pool["share"]), np.array(pool["ln_ratio"])
        x = share / 100
        same_member = (member[:, None] == member).astype(float)
        same_series = (series[:, None] == series).astype(float)
        self.X = (share[:, None] == SHARES).astype(float)
        self.known = RUN_SD**2 * (np.eye(len(x)) + same_series)
        self.parts = [same_member, same_member * np.outer(x, x), same_series, np.eye(len(x))]
        self.scales = np.array([SCALE, SCALE / REFERENCE, SCALE, SCALE])

    def at(self, sds: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
        """(log posterior, means, covariance of the means)."""
        M = self.known + sum(sd**2 * part for sd, part in zip(sds, self.parts, strict=True))
        inverse = np.linalg.inv(M)
        information = self.X.T @ inverse @ self.X
        covariance = np.linalg.inv(information)
        b = covariance @ self.X.T @ inverse @ self.y
        r = self.y - self.X @ b
        logs = np.linalg.slogdet(M)[1] + np.linalg.slogdet(information)[1]
        return float(-0.5 * (logs + r @ inverse @ r + np.sum((sds / self.scales) ** 2))), b, covariance


def chain(dense: Dense, seed: int) -> dict[str, np.ndarray]:
    """Averages of one chain: chance of a faster series, of one that reaches the target, of all reaching it from each
    share on, mean of each sd, and draws of the new series for its quantiles."""
    rng = np.random.default_rng([11, seed])
    sds, x = np.array([0.15, 0.2, 0.1, 0.05]), SHARES / 100
    value, b, covariance = dense.at(sds)
    sums: dict[str, list[np.ndarray]] = {"faster": [], "clears": [], "all": [], "sds": [], "new": []}
    width = 0.35 * dense.scales
    for step in range(STEPS + BURN):
        moved = np.abs(sds + width * rng.standard_t(4, 4) * (rng.random(4) < 0.5))
        there = dense.at(moved)
        if np.log(rng.random()) < there[0] - value:
            sds, (value, b, covariance) = moved, there
        if step < BURN:
            continue
        T = sds[0] ** 2 + sds[2] ** 2 + sds[1] ** 2 * np.outer(x, x) + sds[3] ** 2 * np.eye(4)
        sd = np.sqrt(np.diag(covariance + T))
        new = rng.multivariate_normal(b, covariance + T)
        reached = (new > np.log(RATIO))[::-1]
        sums["faster"].append(ndtr(b / sd))
        sums["clears"].append(ndtr((b - np.log(RATIO)) / sd))
        sums["all"].append(np.cumprod(reached)[::-1].astype(float))
        sums["sds"].append(sds)
        sums["new"].append(new)
    found = {name: np.mean(values, axis=0) for name, values in sums.items() if name != "new"}
    drawn = np.array(sums["new"])
    return {**found, "low": np.quantile(drawn, 0.025, axis=0), "high": np.quantile(drawn, 0.975, axis=0)}


def main() -> int:
    """Writes expected.json."""
    result = {}
    for name, (members, spread, seed) in POOLS.items():
        pool = draw(members, spread, seed)
        dense = Dense(pool)
        chains = [chain(dense, seed * 100 + n) for n in range(CHAINS)]
        expected = {}
        for key in chains[0]:
            values = np.array([one[key] for one in chains])
            expected[key] = {
                "value": values.mean(axis=0).round(5).tolist(),
                "error": (values.std(axis=0, ddof=1) / np.sqrt(CHAINS)).round(5).tolist(),
            }
        result[name] = {"pool": pool, "expected": expected}
    (Path(__file__).parent / "expected.json").write_text(
        json.dumps(result, indent=1) + "\n", encoding="utf-8"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""Small rules of what may be claimed: shares beside a better measured one, an assumed pot error both ways, regret."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.posterior.companion import Mixture

NEAR_POINTS = 3.0
NEAR_TIMES = 2
REPEATING_GROWERS, POTS_A_MIX = 3, 2
CARE = (0.5, 2.0)
"""An assumed pot error is tried at half and at twice its value."""


@dataclass(frozen=True)
class Smallest:
    """The smallest share that is enough, or None; passed_over: undecided shares beside a better measured one, which did
    not block it and are named in the text."""

    share: float | None
    passed_over: tuple[float, ...]


def stands_beside(shares: Floats, units: Whole) -> Flags:
    """Shares within 3 points of one that at least twice as many growers measured."""
    near = np.abs(shares[:, None] - shares[None, :]) <= NEAR_POINTS
    larger = units[None, :] >= NEAR_TIMES * np.maximum(units[:, None], 1)
    return np.asarray((near & larger & ~np.eye(len(shares), dtype=bool)).any(axis=1))


def smallest_enough(
    shares: Floats, clears: Flags, undecided: Flags, supported: Flags, units: Whole
) -> Smallest:
    """The smallest share that clears, as does every larger supported one; an undecided share beside a better measured
    one does not block, a share that falls short always does."""
    beside = stands_beside(shares, units)
    enough: float | None = None
    waiting: list[float] = []
    passed: list[float] = []
    for j in range(len(shares))[::-1]:
        if not supported[j]:
            continue
        if clears[j]:
            enough = float(shares[j])
            passed, waiting = passed + waiting, []
        elif undecided[j] and beside[j]:
            waiting.append(float(shares[j]))
        else:
            break
    return Smallest(enough, tuple(sorted(passed)))


def pot_errors_to_try(assumed: bool, pots: Whole, member: Whole) -> tuple[float, ...]:
    """By what an assumed pot error is multiplied in refits that a `clears` must survive; none where it was measured or
    three growers sent two pots of a mix. `pots`, `member`: of each cell."""
    repeating = len(np.unique(member[pots >= POTS_A_MIX]))
    return CARE if assumed and repeating < REPEATING_GROWERS else ()


def expected_regret(series: Mixture, target_ratio: float, too_little: float, too_much: float) -> Floats:
    """Expected regret of each share: ln shortfall below the target times `too_little`, ln excess above it times
    `too_much`, for a new grower's series."""
    sd = np.sqrt(series.variance)
    gap = (series.mean - np.log(target_ratio)) / sd
    density = np.exp(-0.5 * gap**2) / np.sqrt(2.0 * np.pi)
    excess = sd * (density + gap * ndtr(gap))
    shortfall = sd * (density - gap * ndtr(-gap))
    return np.asarray(series.weight @ (too_little * shortfall + too_much * excess))


def least_regret(shares: Sequence[float], regret: Floats) -> float:
    """The smallest share whose regret is the least."""
    return float(shares[int(np.argmin(regret))])

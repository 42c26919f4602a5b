"""The test that helps most."""

from __future__ import annotations

from math import exp, sqrt

import numpy as np
import pytest
from scipy.special import stdtrit

from pipeline.plan.wanted import KnownShare, expected_gain, most_wanted


def known(share: float, members: int, spread: float, verdict: str = "undecided") -> KnownShare:
    """A share as a pool of that many growers, each seen without error, would give it: ratio 1.4."""
    error = spread / sqrt(members)
    half = float(stdtrit(members - 1, 0.975)) * sqrt(spread**2 + error**2)
    return KnownShare(
        share,
        members,
        1.4,
        (1.4 * exp(-1.959963984540054 * error), 1.4 * exp(1.959963984540054 * error)),
        (1.4 * exp(-half), 1.4 * exp(half)),
        verdict,
    )


def test_few_growers_gain_more_than_many() -> None:
    gains = [expected_gain(known(40.0, members, 0.2), 3, 1, 0.05) for members in (3, 5, 10, 40)]
    factors = [gain.factor for gain in gains if gain is not None]
    assert len(factors) == 4
    assert factors == sorted(factors, reverse=True)
    assert factors[0] > 1.5 and factors[-1] < 1.02


def test_the_range_after_is_what_a_pool_with_one_grower_more_has_on_average() -> None:
    """Simulated: m growers drawn, then m + 1; mean ln width of the 95 % range for a new grower, before and after."""
    members, spread = 6, 0.2
    rng = np.random.default_rng(3)
    drawn = rng.normal(0.3, spread, (40_000, members + 1))

    def width(values: np.ndarray) -> np.ndarray:
        count = values.shape[1]
        return np.asarray(2 * stdtrit(count - 1, 0.975) * values.std(axis=1, ddof=1) * sqrt(1 + 1 / count))

    observed = np.sqrt((width(drawn[:, :members]) ** 2).mean() / (width(drawn) ** 2).mean())
    gain = expected_gain(known(40.0, members, spread), 50, 1, 0.0)
    assert gain is not None
    foretold = np.log(gain.before[1] / gain.before[0]) / np.log(gain.after[1] / gain.after[0])
    assert foretold == pytest.approx(observed, rel=0.02)


def test_open_shares_come_first_and_unknown_ones_not_at_all() -> None:
    shares = (known(25.0, 3, 0.2, "clears"), known(40.0, 12, 0.2), known(50.0, 5, 0.2), known(60.0, 2, 0.2))
    assert [gain.share for gain in most_wanted(shares, 3, 1, 0.1)] == [50.0, 40.0, 25.0]


def test_a_grower_who_pours_unevenly_adds_less() -> None:
    steady, shaky = (expected_gain(known(40.0, 5, 0.2), 2, 1, scatter) for scatter in (0.02, 0.5))
    assert steady is not None and shaky is not None
    assert steady.factor > shaky.factor >= 1.0

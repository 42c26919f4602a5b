"""The test that helps most: how far one more grower's series would narrow what a new grower may expect.

What the pool says of a share is a mean with a standard error, and a spread between growers' series that no test
removes. A further grower's series of n pots a mix measures that share's mean with variance
`spread² + s_r² (1/n + 1/n0)`; means combine by inverse variances, and the t quantile of the range moves on by one
grower. An approximation share by share, stated as such: what is learned at one share about its neighbours is left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt

from scipy.special import stdtrit

from pipeline.plan.power import layout
from schemas.trade.verdicts import TOO_FEW, UNDECIDED

NORMAL_95 = 1.959963984540054
OPEN = (UNDECIDED, TOO_FEW)
"""Verdicts that more tests may settle."""
NEEDED = 3
"""Growers below whom the spread between growers is not known well enough to foretell anything."""


@dataclass(frozen=True)
class KnownShare:
    """What the pool says of one share; ranges as ratios, 95 %."""

    share: float
    members: int
    ratio: float
    ci: tuple[float, float]
    new_series: tuple[float, float]
    verdict: str


@dataclass(frozen=True)
class Gain:
    """Before and after one more grower's series: the range for a new grower, as ratios; factor: by how much its width
    (high over low) shrinks, 1 is not at all."""

    share: float
    verdict: str
    members: int
    before: tuple[float, float]
    after: tuple[float, float]

    @property
    def factor(self) -> float:
        """Width before over width after, both as high over low."""
        return (self.before[1] / self.before[0]) / (self.after[1] / self.after[0])


def expected_gain(known: KnownShare, pots: int, mixes: int, pot_sd: float) -> Gain | None:
    """What one more grower with so many pots a mix would do to the range at this share; None below NEEDED growers."""
    if known.members < NEEDED:
        return None
    mean, low, high = log(known.ratio), log(known.new_series[0]), log(known.new_series[1])
    mean_variance = (log(known.ci[1] / known.ci[0]) / 2 / NORMAL_95) ** 2
    t_now = float(stdtrit(known.members - 1, 0.975))
    t_next = float(stdtrit(known.members, 0.975))
    total = ((high - low) / 2 / t_now) ** 2
    spread = max(total - mean_variance, 0.0)
    given = layout(pots, mixes)
    measured = spread + pot_sd**2 * (1 / given.pots + 1 / given.baseline_pots)
    after_mean = (
        1 / (1 / mean_variance + 1 / measured) if measured > 0 and mean_variance > 0 else mean_variance
    )
    shrink = t_next * sqrt(spread + after_mean) / (t_now * sqrt(max(total, mean_variance)))
    return Gain(
        known.share,
        known.verdict,
        known.members,
        known.new_series,
        (exp(mean + (low - mean) * min(shrink, 1.0)), exp(mean + (high - mean) * min(shrink, 1.0))),
    )


def most_wanted(known: tuple[KnownShare, ...], pots: int, mixes: int, pot_sd: float) -> tuple[Gain, ...]:
    """Shares by how much one more series there helps: those whose verdict is open first, then by the factor."""
    gains = [gain for share in known if (gain := expected_gain(share, pots, mixes, pot_sd)) is not None]
    return tuple(sorted(gains, key=lambda gain: (gain.verdict not in OPEN, -gain.factor, gain.share)))

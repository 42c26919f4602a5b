"""The stated truth of the invented federation: how fast each mix drains beside straight base, and how much that
varies from grower to grower. Chosen before any sheet was drawn; nobody's measurement.

Curves are natural logarithms of the ratio "rate of the mix / rate of the same series' straight base", averaged
over growers. Between two stated shares the curve is a straight line; at 0 it is 0 by construction.
"""

from __future__ import annotations

from math import exp, log, sqrt
from statistics import NormalDist

TARGET_RATIO = 1.25
ASSURANCE = 0.80

SHARES = (15.0, 25.0, 33.3, 40.0, 50.0, 60.0, 65.0)
FRESH: dict[str, tuple[float, ...]] = {
    "fine": (0.00, 0.08, 0.24, 0.45, 0.62, 0.75, 0.80),
    "medium": (0.01, 0.10, 0.27, 0.48, 0.66, 0.80, 0.86),
    "coarse": (0.02, 0.12, 0.29, 0.51, 0.70, 0.85, 0.91),
}
# what a second pour takes away from each curve, and a third pour on top of it
SETTLING = (0.05, 0.08, 0.13, 0.19, 0.16, 0.13, 0.13)
THIRD_POUR = (0.01, 0.02, 0.02, 0.03, 0.03, 0.02, 0.02)
# what a screen under the mix (sieve, cut cup) takes away: small shares only
SCREENED = (0.12, 0.06, 0.00, 0.00, 0.00, 0.00, 0.00)
SCREENED_SETUPS = ("sieve", "cut_cup")
# part of perlite's rise that pumice shows, and that perlite shows in coir
OTHER_RISE = {"pumice": 0.90, "coir": 0.80}

# how a later pour changes the rate of every pot, straight base included
LATER_POUR = {1: 0.0, 2: -0.12, 3: -0.16}
# a dry start slows straight base by the first number, every mix by the second
DRY_START = (-0.60, -0.35)

SD_MEMBER = 0.10
SD_MEMBER_SLOPE = 0.25
SD_SERIES = 0.08
SD_MIX = 0.06
# one filling of one mix, and one pour of one filling: together 0.10 for a single run
SD_FILLING = 0.08
SD_POUR = 0.06


def between(share: float, values: tuple[float, ...]) -> float:
    """The curve given by `values` at `SHARES`, read at any share of 0 to 65 %."""
    low_share, low = 0.0, 0.0
    for high_share, high in zip(SHARES, values, strict=True):
        if share <= high_share:
            return low + (high - low) * (share - low_share) / (high_share - low_share)
        low_share, low = high_share, high
    raise ValueError(f"the truth is stated up to {SHARES[-1]} %, not at {share} %")


def ln_ratio(
    grade: str,
    share: float,
    pour: int = 1,
    setup: str = "rack",
    component: str = "perlite",
    base: str = "sphagnum_peat",
) -> float:
    """Average ln ratio over growers of this mix at this pour (1 fresh, 2 and 3 settled)."""
    rise = between(share, FRESH[grade]) * OTHER_RISE.get(component, 1.0) * OTHER_RISE.get(base, 1.0)
    if pour >= 2:
        rise -= between(share, SETTLING)
    if pour >= 3:
        rise -= between(share, THIRD_POUR)
    if setup in SCREENED_SETUPS:
        rise -= between(share, SCREENED)
    return rise


def spread(share: float) -> float:
    """Standard deviation, ln units, of one new grower's series about the average, over many fillings."""
    member = SD_MEMBER**2 + (share / 100 * SD_MEMBER_SLOPE) ** 2
    return sqrt(member + SD_SERIES**2 + SD_MIX**2)


def p_clears(average_ln_ratio: float, share: float) -> float:
    """Probability that a new grower's series drains at least `TARGET_RATIO` times as fast as its straight base."""
    return 1.0 - NormalDist(average_ln_ratio, spread(share)).cdf(log(TARGET_RATIO))


def stated_table(grade: str) -> dict[str, list[dict[str, float]]]:
    """The truth of one grade, fresh and settled: ratio on open setups and on screened ones, and the
    probability to clear on open setups."""
    table: dict[str, list[dict[str, float]]] = {}
    for state, pour in (("fresh", 1), ("settled", 2)):
        table[state] = [
            {
                "share": share,
                "ln_ratio": round(ln_ratio(grade, share, pour), 4),
                "ratio": round(exp(ln_ratio(grade, share, pour)), 4),
                "ratio_screened": round(exp(ln_ratio(grade, share, pour, "sieve")), 4),
                "p_clears": round(p_clears(ln_ratio(grade, share, pour), share), 3),
            }
            for share in SHARES
        ]
    return table

"""Ranges of one share at other levels than 95 %, and single pots, redrawn from its published figures."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scipy import special

NINETY_FIVE = 0.975
"""Upper probability of a two-sided 95 % range."""

Range = tuple[float, float]


def t_quantile(probability: float, df: float) -> float:
    """The t of Student's distribution on `df` degrees of freedom (above 0) below which `probability` lies."""
    return float(special.stdtrit(df, probability))


def series_spread(new_series: Range | None, df: float) -> float:
    """Standard deviation of ln ratio of a new grower's series behind its 95 % range; 0 where no range is known."""
    if new_series is None:
        return 0.0
    half = (math.log(new_series[1]) - math.log(new_series[0])) / 2
    return half / t_quantile(NINETY_FIVE, df)


def series_range(ratio: float, new_series: Range | None, df: float, coverage: float) -> Range:
    """The middle `coverage` (0-1) of new growers' series; `ratio` twice where no 95 % range is known."""
    reach = series_spread(new_series, df) * t_quantile(0.5 + coverage / 2, df)
    return math.exp(math.log(ratio) - reach), math.exp(math.log(ratio) + reach)


def average_range(ratio: float, ci: Range, coverage: float) -> Range:
    """Interval of the average at another level: half widths on ln scaled by normal quantiles."""
    scale = float(special.ndtri(0.5 + coverage / 2) / special.ndtri(NINETY_FIVE))
    centre = math.log(ratio)
    low, high = (centre + scale * (math.log(end) - centre) for end in ci)
    return math.exp(low), math.exp(high)


def pot_ratios(
    ratio: float, new_series: Range | None, df: float, pot_sd: float, places: Sequence[float]
) -> tuple[float, ...]:
    """Ratios of one new pot beside one new pot at these probabilities: the series' spread and twice the variance
    between pots (`pot_sd` on ln) together."""
    spread = math.hypot(series_spread(new_series, df), math.sqrt(2) * pot_sd)
    return tuple(math.exp(math.log(ratio) + spread * t_quantile(place, df)) for place in places)

"""Student's t in plain Python: the pages redraw the compare stage's intervals at other levels.

Regularised incomplete beta by its continued fraction (Abramowitz & Stegun 26.5.8, evaluated as in
Lentz 1976); the quantile by bisection, to about 1e-12.
"""

from __future__ import annotations

import math

_TINY = 1e-300


def probability_below(t: float, df: float) -> float:
    """P(T ≤ t) for Student's t on `df` degrees of freedom (df > 0)."""
    tail = 0.5 * _incomplete_beta(df / (df + t * t), df / 2.0, 0.5)
    return 1.0 - tail if t >= 0 else tail


def quantile(probability: float, df: float) -> float:
    """The t with P(T ≤ t) = `probability`, for 0 < probability < 1 and df > 0."""
    if not 0.0 < probability < 1.0 or df <= 0:
        raise ValueError("probability must lie inside 0 to 1 and df above 0")
    if probability < 0.5:
        return -quantile(1.0 - probability, df)
    low, high = 0.0, 1.0
    while probability_below(high, df) < probability:
        high *= 2.0
    for _ in range(200):
        middle = 0.5 * (low + high)
        if probability_below(middle, df) < probability:
            low = middle
        else:
            high = middle
        if high - low <= 1e-12 * max(1.0, high):
            break
    return 0.5 * (low + high)


def _incomplete_beta(x: float, a: float, b: float) -> float:
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    )
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _continued_fraction(x, a, b) / a
    return 1.0 - front * _continued_fraction(1.0 - x, b, a) / b


def _continued_fraction(x: float, a: float, b: float) -> float:
    c, d = 1.0, 1.0 / _away_from_zero(1.0 - (a + b) * x / (a + 1.0))
    value = d
    for step in range(1, 500):
        for numerator in (
            step * (b - step) * x / ((a + 2 * step - 1) * (a + 2 * step)),
            -(a + step) * (a + b + step) * x / ((a + 2 * step) * (a + 2 * step + 1)),
        ):
            d = 1.0 / _away_from_zero(1.0 + numerator * d)
            c = _away_from_zero(1.0 + numerator / c)
            value *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return value


def _away_from_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY

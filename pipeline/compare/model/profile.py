"""Profile-likelihood intervals of the spreads: what the pool can rule out about how much growers differ."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq, minimize

from pipeline.compare.arrays import Floats
from pipeline.compare.model.likelihood import likelihood
from pipeline.compare.model.reml import Fit, variance_scale

DROP = 1.920729410347062
LARGEST = 400.0


def profile_interval(fit: Fit, name: str) -> tuple[float, float | None] | None:
    """95 % interval of the standard deviation of that name by the restricted likelihood; None where the model has
    no such spread. The upper end is None where nothing is ruled out."""
    names = fit.layout.variance_names
    if name not in names:
        return None
    index = names.index(name)
    scale = variance_scale(fit.reduced)
    start = [fit.variances.copy()]

    def deficit(value: float) -> float:
        best, point = _profiled(fit, index, value, scale, start[0])
        start[0] = point
        return fit.log_likelihood - best - DROP

    top = float(fit.variances[index])
    low = (
        0.0 if top == 0.0 or deficit(0.0) <= 0 else float(brentq(deficit, 0.0, top, xtol=1e-6 * scale[index]))
    )
    start[0] = fit.variances.copy()
    ceiling = max(2.0 * top, 0.1 * scale[index])
    while deficit(ceiling) < 0:
        ceiling *= 2.0
        if ceiling > LARGEST * scale[index]:
            return float(np.sqrt(low)), None
    start[0] = fit.variances.copy()
    high = float(brentq(deficit, top, ceiling, xtol=1e-6 * scale[index]))
    return float(np.sqrt(low)), float(np.sqrt(high))


def _profiled(fit: Fit, index: int, value: float, scale: Floats, start: Floats) -> tuple[float, Floats]:
    """(largest restricted log-likelihood with that variance held, where it is)."""
    others = np.array([j for j in range(len(scale)) if j != index], dtype=np.int64)

    def place(point: Floats) -> Floats:
        variances = np.empty(len(scale))
        variances[index] = value
        variances[others] = point * scale[others]
        return variances

    def downhill(point: Floats) -> tuple[float, Floats]:
        here = likelihood(fit.reduced, place(point)[None])
        return -float(here.value[0]), -here.score[0][others] * scale[others]

    if not len(others):
        return float(likelihood(fit.reduced, place(np.zeros(0))[None]).value[0]), place(np.zeros(0))
    minimum = minimize(
        downhill,
        start[others] / scale[others],
        jac=True,
        method="L-BFGS-B",
        bounds=[(0.0, None)] * len(others),
        options={"maxiter": 100, "ftol": 1e-10},
    )
    return -float(minimum.fun), place(np.asarray(minimum.x))

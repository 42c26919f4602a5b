"""Shifts of parts against the BLUPs of statsmodels' MixedLM on balanced data: one share, one series for each grower."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Ties, independence
from pipeline.compare.model.design import headline_design
from pipeline.compare.posterior.shifts import level_shifts

LEVELS, GROWERS, KNOWN = 6, 8, 0.01

# MixedLM stops where its own gradient is small, to about six digits; both sides use its variances, so the shifts agree
# to rounding, but for what its profiling loses.
AGREES = 1e-6


def test_shifts_agree_with_mixedlm_on_balanced_data() -> None:
    mixedlm = pytest.importorskip("statsmodels.regression.mixed_linear_model")
    rng = np.random.default_rng(8)
    level = np.repeat(np.arange(LEVELS), GROWERS)
    y = 0.4 + rng.normal(0, 0.3, LEVELS)[level] + rng.normal(0, 0.2, len(level))
    fitted = mixedlm.MixedLM(y, np.ones((len(y), 1)), groups=level).fit(reml=True)
    count = np.arange(len(y))
    effects = Effects(
        **{
            **dict.fromkeys(("series", "member"), count),
            **dict.fromkeys(("pots", "reference_pots"), np.ones(len(y), dtype=np.int64)),
            "share": np.full(len(y), 40.0),
            "reference": np.zeros(len(y)),
            "y": y,
            "own_variance": np.full(len(y), 0.5 * KNOWN),
            "reference_variance": np.full(len(y), 0.5 * KNOWN),
        }
    )
    growers = count.tolist()
    design = headline_design(effects, independence(growers, Ties({}, {}, {}), growers))
    order = design.member_code[design.layout.row_member]
    variances = np.zeros((1, len(design.layout.variance_names)))
    variances[0, 0] = float(fitted.scale) - KNOWN
    between = float(np.sqrt(fitted.cov_re.item()))
    found = level_shifts(design, variances, level[order], np.array([[between, 1e-9]]), np.zeros(1))
    assert found.coefficients[0, 0] == pytest.approx(float(fitted.fe_params[0]), abs=AGREES)
    expected = [float(np.asarray(fitted.random_effects[one])[0]) for one in range(LEVELS)]
    assert found.coefficients[0, 1 : 1 + LEVELS] == pytest.approx(expected, abs=AGREES)

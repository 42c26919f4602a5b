"""Sums without derivatives are the sums of the fit."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.compare.model.likelihood import from_sums, likelihood
from pipeline.compare.model.rotation import reduce_layout
from pipeline.compare.posterior.sums import plain_sums
from tests.unit.compare.conftest import DrawLayout


@pytest.mark.parametrize("clubs", [0, 4])
@pytest.mark.parametrize("differences", [False, True])
def test_values_means_and_covariances_agree_with_the_fit(
    drawn_layout: DrawLayout, clubs, differences
) -> None:
    reduced = reduce_layout(drawn_layout(clubs=clubs, differences=differences))
    count = len(reduced.layout.variance_names)
    variances = np.random.default_rng(1).random((150, count)) * 0.2
    variances[3] = 0.0
    slow, fast = likelihood(reduced, variances), from_sums(reduced, plain_sums(reduced, variances), None)
    assert fast.value == pytest.approx(slow.value, abs=1e-9)
    assert fast.coefficients == pytest.approx(slow.coefficients, abs=1e-9)
    assert fast.covariance == pytest.approx(slow.covariance, abs=1e-10)

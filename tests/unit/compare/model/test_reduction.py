"""The reduction against the plain dense formula, and its score against differences of the likelihood."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.compare.model import reml
from pipeline.compare.model.layout import Layout
from pipeline.compare.model.leave_out import REFIT_UP_TO, refit_without
from pipeline.compare.model.likelihood import likelihood
from pipeline.compare.model.reml import fit_layout, fit_reduced
from pipeline.compare.model.robust import covariance_blocks
from pipeline.compare.model.rotation import reduce_layout
from tests.unit.compare.conftest import DrawLayout

VARIANCES = np.array([0.02, 0.3, 0.01, 0.005])


def dense(
    layout: Layout, variances: np.ndarray, restricted: bool = True
) -> tuple[float, np.ndarray, np.ndarray]:
    """(log-likelihood, coefficients, their covariance) by the textbook formula on the whole covariance matrix."""
    M = covariance_blocks(layout, variances, np.arange(len(layout.y))[None, :])[0]
    X, y = layout.X, layout.y
    inverse = np.linalg.inv(M)
    covariance = np.linalg.inv(X.T @ inverse @ X)
    b = covariance @ X.T @ inverse @ y
    r = y - X @ b
    n, p = X.shape
    value = -0.5 * (np.linalg.slogdet(M)[1] + r @ inverse @ r + (n - p * restricted) * np.log(2 * np.pi))
    if restricted:
        value += 0.5 * (np.linalg.slogdet(X.T @ X)[1] + np.linalg.slogdet(covariance)[1])
    return value, b, covariance


@pytest.mark.parametrize("restricted", [True, False])
@pytest.mark.parametrize(("clubs", "differences"), [(0, False), (4, False), (0, True), (4, True)])
def test_equals_the_dense_formula(
    drawn_layout: DrawLayout, clubs: int, differences: bool, restricted: bool
) -> None:
    layout = drawn_layout(clubs=clubs, differences=differences)
    variances = np.append(VARIANCES, 0.015) if clubs else VARIANCES
    at = likelihood(reduce_layout(layout), variances[None], restricted=restricted)
    value, b, covariance = dense(layout, variances, restricted)
    assert at.value[0] == pytest.approx(value, rel=1e-10)
    assert at.coefficients[0] == pytest.approx(b, rel=1e-9)
    assert at.covariance[0] == pytest.approx(covariance, rel=1e-9)


@pytest.mark.parametrize("zero", [None, 0, 1, 2, 3, 4])
def test_score_equals_differences_of_the_likelihood(drawn_layout: DrawLayout, zero: int | None) -> None:
    reduced = reduce_layout(drawn_layout(clubs=4, differences=True))
    variances = np.append(VARIANCES, 0.015)
    if zero is not None:
        variances[zero] = 0.0
    score = likelihood(reduced, variances[None]).score[0]
    for j in range(5):
        step = np.zeros(5)
        step[j] = 1e-6
        ends = likelihood(reduced, np.array([variances + step, variances + 2 * step, variances])).value
        slope = (4 * ends[0] - ends[1] - 3 * ends[2]) / 2e-6
        assert score[j] == pytest.approx(slope, rel=2e-4, abs=2e-3)


def test_the_fit_is_a_maximum(drawn_layout: DrawLayout) -> None:
    layout = drawn_layout(series=40)
    fit = fit_layout(layout)
    rng = np.random.default_rng(0)
    for _ in range(30):
        near = np.maximum(fit.variances * rng.uniform(0.7, 1.3, 4) + rng.uniform(0, 1e-3, 4), 0)
        assert likelihood(fit.reduced, near[None]).value[0] <= fit.log_likelihood + 1e-9
    assert fit.relative_change < 1e-12


@pytest.mark.parametrize("clubs", [0, 12])
def test_a_large_pool_fitted_by_way_of_a_part_ends_at_the_same_top(
    drawn_layout: DrawLayout, clubs: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    layout = drawn_layout(series=60, clubs=clubs, differences=True)
    plain = fit_layout(layout)
    monkeypatch.setattr(reml, "MANY_BLOCKS", 8)
    monkeypatch.setattr(reml, "PART_BLOCKS", 4)
    by_part = fit_layout(layout)
    assert by_part.variances == pytest.approx(plain.variances, rel=1e-7, abs=1e-9)
    assert by_part.log_likelihood == pytest.approx(plain.log_likelihood, abs=1e-9)
    assert by_part.relative_change < 1e-9


@pytest.mark.parametrize("clubs", [0, 4])
def test_a_refit_without_a_member_equals_a_fit_of_the_rest(drawn_layout: DrawLayout, clubs: int) -> None:
    fit = fit_layout(drawn_layout(clubs=clubs))
    members = fit.layout.members
    refits = refit_without(fit, [np.array([j]) for j in range(members)])
    for j in range(members):
        weights = np.ones((1, members))
        weights[0, j] = 0.0
        rest = fit_reduced(fit.reduced, weights=weights)
        assert refits.log_likelihood[j] == pytest.approx(rest.log_likelihood, abs=1e-7)
        assert refits.coefficients[j] == pytest.approx(rest.coefficients, abs=1e-5)


@pytest.mark.parametrize("clubs", [0, 30])
def test_beyond_a_hundred_members_sums_are_taken_off_and_variances_held(
    drawn_layout: DrawLayout, clubs: int
) -> None:
    fit = fit_layout(drawn_layout(series=2 * REFIT_UP_TO + 20, clubs=clubs))
    left_out = [np.array([0]), np.array([3, 4]), np.array([fit.layout.members - 1])]
    refits = refit_without(fit, left_out)
    assert refits.variances_held
    for row, chosen in enumerate(left_out):
        weights = np.ones((1, fit.layout.members))
        weights[0, chosen] = 0.0
        direct = likelihood(fit.reduced, fit.variances[None], weights)
        assert refits.coefficients[row] == pytest.approx(direct.coefficients[0], rel=1e-9)
        assert refits.covariance[row] == pytest.approx(direct.covariance[0], rel=1e-8)

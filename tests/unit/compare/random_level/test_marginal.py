"""The random-level likelihood against the integral written out on a grid, and its slopes against differences."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from pipeline.compare.random_level.marginal import Parameters, marginal
from pipeline.compare.random_level.orthant import below
from pipeline.compare.random_level.stopped_pool import PooledRuns, lay_out

RUN_SD = 0.1


def tiny(stopped):
    """One grower, one series of a baseline and two mixes, two pots each; which pots were stopped is given."""
    share = np.array([0.0, 0.0, 20.0, 20.0, 50.0, 50.0])
    y = np.array([-0.3, -0.25, -0.1, -0.2, 0.35, 0.3])
    same = np.zeros(6, dtype=np.int64)
    return PooledRuns(same, same, same, share, y, np.array(stopped, dtype=bool))


def by_grid(runs, level, shares, sds, rho):
    """The likelihood by a trapezoid over the level and both ratios, every pot independent given the three."""
    x = np.array([0.2, 0.5])
    own, member, slope, mix = (sds[name] for name in ("level_series", "member", "slope", "mix"))
    covariance = np.full((3, 3), member**2)
    covariance[1:, 1:] += slope**2 * np.outer(x, x) + mix**2 * np.eye(2)
    covariance[0, 0] = own**2
    covariance[0, 1:] = covariance[1:, 0] = rho * own * member
    root = np.linalg.cholesky(covariance)
    grid = np.linspace(-6.5, 6.5, 105)
    weight = norm.pdf(grid) * (grid[1] - grid[0])
    z = np.stack(np.meshgrid(grid, grid, grid, indexing="ij"), axis=-1) @ root.T
    centre = np.array([level, level + shares[0], level + shares[1]])
    latent = z + 0.0
    latent[..., 1:] += z[..., :1]
    latent += centre
    log = np.zeros(latent.shape[:3])
    for share, y, stopped in zip(runs.share, runs.log_rate, runs.stopped, strict=True):
        at = (y - latent[..., {0.0: 0, 20.0: 1, 50.0: 2}[share]]) / RUN_SD
        log += norm.logcdf(at) if stopped else norm.logpdf(at) - np.log(RUN_SD)
    return float(np.log(np.einsum("ijk,i,j,k->", np.exp(log), weight, weight, weight)))


@pytest.mark.parametrize("rho", [0.0, 0.5, -0.4])
@pytest.mark.parametrize(
    "stopped",
    [
        [0, 0, 0, 0, 0, 0],
        [1, 1, 0, 0, 0, 0],
        [1, 0, 0, 0, 0, 0],
        [1, 1, 1, 0, 0, 0],
        [1, 1, 1, 1, 0, 0],
        [1, 1, 1, 1, 1, 1],
    ],
    ids=lambda flags: "".join(map(str, flags)),
)
def test_the_likelihood_is_the_integral(stopped, rho) -> None:
    runs = tiny(stopped)
    pool = lay_out(runs, RUN_SD**2)
    sds = {"level_series": 0.4, "member": 0.2, "slope": 0.3, "mix": 0.08}
    assert set(pool.names) == set(sds)
    coefficients = np.array([-0.1, 0.1, 0.3])
    at = Parameters(coefficients, np.array([sds[name] for name in pool.names]), rho)
    exact = by_grid(runs, -0.1, (0.1, 0.3), sds, rho)
    # pots of a cell enter as their mean: the part of the density that no parameter moves is left out
    timed = ~runs.stopped
    for share in np.unique(runs.share[timed]):
        y = runs.log_rate[timed & (runs.share == share)]
        n = len(y)
        exact -= norm.logpdf(y, y.mean(), RUN_SD).sum() - norm.logpdf(0, 0, RUN_SD / np.sqrt(n))
    found = marginal(pool, at, points=4096).value.sum()
    # a grid of 105 points over +-6.5 sd is good to 1e-6; the sequence of 4096 points to a few in 10 000
    assert found == pytest.approx(exact, abs=2e-6 if sum(stopped) <= 1 else 3e-3)


@pytest.mark.parametrize(("clubs", "fixed"), [(0, False), (3, False), (3, True)])
def test_slopes_are_those_of_the_value(runs, clubs, fixed) -> None:
    pool = lay_out(runs(members=6, clubs=clubs, fixed=fixed, stopped=0.3), RUN_SD**2)
    rng = np.random.default_rng(2)
    p, k = pool.X.shape[2], len(pool.names)
    point = np.concatenate([rng.normal(0, 0.1, p), rng.uniform(0.08, 0.3, k), [0.2]])

    def at(vector, points=2048):
        return marginal(pool, Parameters(vector[:p], vector[p:-1], float(vector[-1])), points)

    found = at(point)
    slopes = np.concatenate([found.by_coefficients, found.by_sds, found.by_rho[:, None]], axis=1).sum(axis=0)
    for j in range(len(point)):
        move = 1e-4 * np.eye(len(point))[j]
        difference = (at(point + move).value.sum() - at(point - move).value.sum()) / 2e-4
        assert slopes[j] == pytest.approx(difference, abs=0.02 * max(1.0, abs(difference)) + 0.05)


@pytest.mark.parametrize("correlation", [0.0, 0.5, 0.95])
def test_an_orthant_is_the_known_integral(correlation) -> None:
    covariance = correlation * np.ones((3, 3)) + (1 - correlation) * np.eye(3)
    bound = np.array([0.5, -0.3, -1.0])
    chance, mean, spread = below(bound[None], covariance[None], 4096)
    exact = multivariate_normal(np.zeros(3), covariance, allow_singular=True).cdf(bound)
    assert chance[0] == pytest.approx(np.log(exact), abs=2e-3)
    drawn = np.random.default_rng(3).multivariate_normal(np.zeros(3), covariance, 400_000)
    kept = drawn[(drawn < bound).all(axis=1)]
    assert mean[0] == pytest.approx(kept.mean(axis=0), abs=0.02)
    assert spread[0] == pytest.approx(np.cov(kept.T), abs=0.06)


def test_one_bound_is_exact_and_a_far_one_costs_nothing() -> None:
    chance, mean, spread = below(np.array([[-2.0], [50.0]]), np.array([[[4.0]], [[1.0]]]), 1024)
    assert chance == pytest.approx([norm.logcdf(-1.0), 0.0])
    ratio = norm.pdf(-1.0) / norm.cdf(-1.0)
    assert mean[:, 0] == pytest.approx([-2.0 * ratio, 0.0], abs=0.05)
    assert spread[0, 0, 0] == pytest.approx(4.0 * (1 + ratio - ratio**2), rel=0.1)

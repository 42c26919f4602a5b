"""The fit with random series levels."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.compare.random_level.fit import fit_random_level
from pipeline.compare.random_level.marginal import Parameters, marginal
from pipeline.compare.random_level.stopped_pool import PooledRuns, lay_out
from tests.unit.compare.random_level.conftest import fitted


def kept(given, rows):
    return PooledRuns(
        given.member[rows],
        given.series[rows],
        given.club[rows],
        given.share[rows],
        given.log_rate[rows],
        given.stopped[rows],
        given.fixed_club,
    )


def test_stopped_pools_give_the_truth_back_within_their_errors(runs) -> None:
    pool = lay_out(runs(members=24, stopped=0.4), 0.01)
    found = fitted(pool)
    error = np.sqrt(np.diag(found.covariance))[1:3]
    assert np.all(np.abs(found.means - [0.1, 0.4]) < 3 * error)
    assert np.all((error > 0.01) & (error < 0.12))
    assert np.abs(found.scores.sum(axis=0)[found.free]).max() < 1.0


def test_timed_pools_have_the_dense_normal_likelihood(runs) -> None:
    pool = lay_out(runs(members=5, stopped=0.0), 0.01)
    found = fitted(pool)
    total = 0.0
    for block in range(5):
        rows = pool.real[block]
        M = np.diag(pool.own[block][rows])
        for sd, pattern in zip(found.at.sds, pool.parts.values(), strict=True):
            M = M + sd**2 * pattern[block][np.ix_(rows, rows)]
        r = pool.y[block][rows] - pool.X[block][rows] @ found.at.coefficients
        total += -0.5 * (np.linalg.slogdet(2 * np.pi * M)[1] + r @ np.linalg.solve(M, r))
    assert found.log_likelihood == pytest.approx(total)


def test_nothing_near_the_maximum_is_better(runs) -> None:
    pool = lay_out(runs(members=10), 0.01)
    found = fitted(pool)
    rng = np.random.default_rng(5)
    for _ in range(12):
        moved = Parameters(
            found.at.coefficients + rng.normal(0, 0.05, 3), found.at.sds * np.exp(rng.normal(0, 0.2, 6))
        )
        assert marginal(pool, moved).value.sum() < found.log_likelihood + 1e-3


def test_wholly_stopped_series_tell_of_the_level(runs) -> None:
    given = runs(members=16, stopped=0.5)
    found = fitted(lay_out(given, 0.01))
    none_timed = [s for s in np.unique(given.series) if given.stopped[given.series == s].all()]
    assert none_timed
    rest = fitted(lay_out(kept(given, ~np.isin(given.series, none_timed)), 0.01))
    assert found.at.coefficients[0] < rest.at.coefficients[0] - 0.01


def test_one_step_without_a_grower_is_near_the_refit(runs) -> None:
    given = runs(members=12)
    pool = lay_out(given, 0.01)
    found = fitted(pool)
    for member in (0, 5):
        stepped = found.without(np.array([member]))[0][1:3]
        refit = fitted(lay_out(kept(given, given.member != member), 0.01)).means
        assert stepped == pytest.approx(refit, abs=0.02)


@pytest.mark.parametrize("fixed", [False, True])
def test_clubs_enter_as_random_or_fixed(runs, fixed) -> None:
    pool = lay_out(runs(members=12, clubs=3, fixed=fixed), 0.01)
    assert (("club" in pool.names), pool.offsets) == ((not fixed), 2 if fixed else 0)
    found = fitted(pool)
    assert found.means == pytest.approx([0.1, 0.4], abs=0.25)


def test_the_second_reading_estimates_or_fixes_the_correlation(runs) -> None:
    pool = lay_out(runs(members=16), 0.01)
    plain = fitted(pool)
    for rho in (-0.3, 0.3):
        assert fitted(pool, rho, plain).at.rho == rho
    told = fitted(pool, None, plain)
    assert -1 < told.at.rho < 1 and told.rho_error > 0.05
    assert told.log_likelihood >= plain.log_likelihood - 1e-3
    assert plain.rho_error == np.inf


def test_all_stopped_or_a_share_never_timed_has_no_maximum(runs) -> None:
    given = runs(members=5)
    every = PooledRuns(
        given.member,
        given.series,
        given.club,
        given.share,
        given.log_rate,
        np.ones(len(given.share), dtype=bool),
    )
    assert fit_random_level(lay_out(every, 0.01)) is None
    one = PooledRuns(
        given.member,
        given.series,
        given.club,
        given.share,
        given.log_rate,
        given.stopped | (given.share == 20),
    )
    assert fit_random_level(lay_out(one, 0.01)) is None


def test_the_fit_is_the_same_bytes_every_time(runs) -> None:
    first, again = (fitted(lay_out(runs(members=6), 0.01)) for _ in range(2))
    assert first.vector.tobytes() == again.vector.tobytes()


def test_shares_told_by_a_timed_side_are_counted(runs) -> None:
    given = runs(members=3, series=1, stopped=0.0)
    stopped = np.zeros(9, dtype=bool)
    stopped[[0, 1, 3]] = True
    pool = lay_out(
        PooledRuns(given.member, given.series, given.club, given.share, given.log_rate, stopped), 0.01
    )
    assert pool.informative.tolist() == [[False, True], [True, True], [True, True]]

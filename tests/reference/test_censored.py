"""Stopped runs: exact censored likelihoods against survival (survreg) and an independent quadrature in R."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.compare.model.layout import nest
from pipeline.compare.stopped.fixed_likelihood import fit_fixed
from pipeline.compare.stopped.mixed_fit import fit_mixed
from pipeline.compare.stopped.mixed_likelihood import Point, StoppedRuns
from tests.reference.conftest import OpenCase, Table


def test_motors_equals_survreg_and_the_published_figures(open_case: OpenCase) -> None:
    """Schmee & Hahn 1979 (from memory): log10 time = -6.019 + 4.311 x, sigma 0.2592 by ML."""
    case = open_case("motors_censored_lognormal")
    expected, table = case.json("expected.json"), case.table()
    seen = table["event"] == 1
    X = np.column_stack([np.ones(len(seen)), table["x"]])
    fit = fit_fixed(-np.log(table["time"]), ~seen, -X, np.arange(len(seen)))
    assert fit is not None
    assert fit.coefficients == pytest.approx(expected["beta"], rel=1e-6)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(expected["se"][:2], rel=1e-6)
    assert fit.sd == pytest.approx(expected["sigma"], rel=1e-6)
    on_time = fit.log_likelihood - np.log(table["time"])[seen].sum()
    assert on_time == pytest.approx(expected["logLik_time_scale"], abs=1e-6)
    log10 = np.log(10.0)
    assert fit.coefficients / log10 == pytest.approx([-6.019, 4.311], abs=1e-3)
    assert fit.sd / log10 == pytest.approx(0.2592, abs=1e-4)


def scaled(table: Table) -> np.ndarray:
    """ln of the time scaled by pot and poured volume: the negative of ln rate."""
    return np.log(table["time_s"] * table["pot_l"] / table["stated_ml"])


def test_sim_f_equals_survreg_and_neither_wrong_way(open_case: OpenCase) -> None:
    case = open_case("sim_f_censored")
    expected, table = case.json("expected.json"), case.table("runs.csv")
    x = table["share_pct"] / 100
    dummies = (table["series"][:, None] == np.unique(table["series"])).astype(float)
    site = np.unique(table["site"], return_inverse=True)[1]
    fit = fit_fixed(-scaled(table), table["censored"] == 1, -np.column_stack([x, x**2, dummies]), site)
    assert fit is not None
    ml = expected["ML"]
    assert (table["censored"].sum(), len(x)) == (expected["n_censored"], expected["n_runs"])
    assert fit.coefficients[:2] == pytest.approx(ml["b"], rel=1e-6)
    assert fit.coefficients[2:] == pytest.approx(list(ml["series_intercepts"].values()), rel=1e-6)
    assert np.sqrt(np.diag(fit.covariance))[:2] == pytest.approx(ml["se"], rel=1e-6)
    assert np.sqrt(np.diag(fit.robust))[:2] == pytest.approx(ml["cluster_robust_se_by_site"], rel=1e-6)
    assert fit.sd == pytest.approx(ml["sigma"], rel=1e-6)
    for wrong in ("WRONG_drop_censored", "WRONG_treat_as_time"):
        assert abs(fit.coefficients[0] - expected[wrong]["b"][0]) > 0.1


def test_sim_l_mixed_likelihood_equals_the_reference(open_case: OpenCase) -> None:
    """Slopes of member and series centred inside the series, nested trapezoid of 81 points. Tolerance 1e-4 on means,
    1e-3 on spreads: the reference's optimiser (nlm) is the looser side; its errors are differences too."""
    case = open_case("sim_l_censored_mixed")
    expected, table = case.json("expected.json"), case.table("runs.csv")
    order, series, member, _ = nest(table["series"], table["site"], table["site"])
    y, x = -scaled(table)[order], (table["share_pct"] / 100)[order]
    z = x - (np.bincount(series, weights=x) / np.bincount(series))[series]
    runs = StoppedRuns(y, table["censored"][order] == 1, np.column_stack([x, x**2]), z, None, series, member)
    means = np.array([2.0, -1.0])
    level = np.bincount(series, weights=y - runs.X @ means) / np.bincount(series)
    fit = fit_mixed(runs, Point(means, level, 0.3, 0.3, 0.3, None))
    assert fit is not None
    assert fit.log_likelihood == pytest.approx(expected["logLik_ln_lt_scale"], abs=1e-6)
    assert -fit.point.means == pytest.approx(expected["b"], abs=1e-4)
    assert fit.point.spreads == pytest.approx(
        (expected["sigma"], expected["tau_site"], expected["tau_series"]), abs=1e-3
    )
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(expected["se_b"], rel=2e-3)
    assert -fit.point.intercepts == pytest.approx(list(expected["series_intercepts"].values()), abs=2e-3)

"""The headline model against metafor 3.8.1 and clubSandwich 0.5.8 (R 4.2.2): expected_headline.json of each case.

Tolerances: references/README.md of the project's notes (coefficients and se 1e-6 relative, variances 1e-5 relative or
1e-6 absolute near 0, log-likelihood 1e-6, CR2 1e-6); the reference optimiser is the looser side.
"""

from __future__ import annotations

from typing import Any, cast

import numpy as np
import polars as pl
import pytest
from scipy import stats

from pipeline.compare.model.leave_out import refit_without
from pipeline.compare.model.reml import fit_layout
from pipeline.compare.model.robust import cluster_robust
from pipeline.compare.steps import compare_runs
from pipeline.settings import Settings
from tests.reference.conftest import HeadlineLayout, LayOut, OpenCase

CASES = ["sim_a_single_runs", "sim_b_replicated", "sim_p_dip_step"]
ASSUMED = {"sim_a_single_runs": 0.12}


@pytest.mark.parametrize("name", CASES)
def test_means_variances_and_likelihood_equal_metafor(
    name: str, open_case: OpenCase, headline_layout: HeadlineLayout
) -> None:
    expected = open_case(name).json("expected_headline.json")
    fit = fit_layout(headline_layout(open_case(name)))
    model = expected["model"]
    assert fit.coefficients == pytest.approx(list(model["beta"].values()), rel=1e-6)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(list(model["se"].values()), rel=1e-6)
    assert fit.covariance == pytest.approx(np.array(model["vcov_beta"]), rel=1e-6)
    variances = [expected[key] for key in ("tau2_intercept", "tau2_slope", "sigma2_series", "sigma2_mix")]
    assert fit.variances == pytest.approx(variances, rel=1e-5, abs=1e-6)
    assert fit.log_likelihood == pytest.approx(model["logLik_REML"], abs=1e-6)
    assert fit.relative_change < 1e-12


@pytest.mark.parametrize("name", CASES)
def test_robust_errors_and_degrees_equal_clubsandwich(
    name: str, open_case: OpenCase, headline_layout: HeadlineLayout
) -> None:
    expected = open_case(name).json("expected_headline.json")["model"]["CR2"]
    layout = headline_layout(open_case(name))
    robust = cluster_robust(fit_layout(layout), layout.row_member)
    assert robust.clusters == expected["clusters"]
    assert robust.standard_errors == pytest.approx(expected["se"], rel=1e-6)
    assert robust.degrees == pytest.approx(expected["df_satterthwaite"], rel=1e-6)


@pytest.mark.parametrize("name", CASES)
def test_every_refit_without_one_member_equals_metafor(
    name: str, open_case: OpenCase, headline_layout: HeadlineLayout
) -> None:
    expected = open_case(name).json("expected_headline.json")["leave_one_site_out"]
    layout = headline_layout(open_case(name))
    fit = fit_layout(layout)
    refits = refit_without(fit, [np.array([member]) for member in range(layout.members)])
    assert len(expected) == layout.members
    x = np.unique(open_case(name).table()["share_pct"]) / 100
    for row, one in enumerate(expected):
        error = np.sqrt(np.diag(refits.covariance[row]))
        t0, t1, series, mix = refits.variances[row]
        deviation = np.sqrt(error**2 + t0 + x**2 * t1 + series + mix)
        assert refits.log_likelihood[row] == pytest.approx(one["logLik_REML"], abs=1e-6)
        assert refits.coefficients[row] == pytest.approx(
            [line["mu"] for line in one["table"]], rel=1e-5, abs=1e-6
        )
        assert error == pytest.approx([line["se"] for line in one["table"]], rel=1e-5)
        assert deviation == pytest.approx([line["pred_sd"] for line in one["table"]], rel=1e-5)


@pytest.mark.parametrize("name", CASES)
def test_from_runs_to_results_with_members_at_the_share_less_one_degrees(
    name: str, open_case: OpenCase
) -> None:
    """Whole path from runs.csv; the plain estimate stands under `reml`. The reference's probabilities use members - 1 df in all; the tool's are recomputed
    here from its mu and pred_sd with the members at the share less one."""
    case = open_case(name)
    expected = case.json("expected_headline.json")
    runs = split_into_single_mixes(case.run_frame(), expected.get("series_without_baseline", []))
    settings = Settings(stopwatch_step_s=0.0, repeatability_sd=ASSUMED.get(name, 0.10))
    shares = cast(
        "list[dict[str, Any]]", compare_runs(runs, settings, behind=False).components["perlite"]["shares"]
    )
    robust = expected["model"]["CR2"]
    for j, (share, line) in enumerate(zip(shares, expected["table"], strict=True)):
        assert (share["share"], share["members"]) == (line["share_pct"], line["sites"])
        assert np.log(share["ratio"]) == pytest.approx(line["mu"], rel=1e-6, abs=1e-8)
        degrees = line["sites"] - 1
        for key, limit in (("p_faster", 1.0), ("p_clears", 1.25)):
            stated = stats.t.cdf((line["mu"] - np.log(limit)) / line["pred_sd"], degrees)
            assert share["reml"][key] == pytest.approx(stated, abs=2e-6)
        reach = stats.t.ppf(0.975, degrees) * line["pred_sd"]
        assert np.log(share["reml"]["new_series"]) == pytest.approx(
            [line["mu"] - reach, line["mu"] + reach], abs=2e-6
        )
        half = max(
            stats.t.ppf(0.975, robust["df_satterthwaite"][j]) * robust["se"][j],
            stats.norm.ppf(0.975) * line["se"],
        )
        assert np.log(share["ci"]) == pytest.approx([line["mu"] - half, line["mu"] + half], abs=2e-6)


def split_into_single_mixes(runs: pl.DataFrame, series: list[str]) -> pl.DataFrame:
    """These series cut into series of one mix each: no contrast, but their repeated pots still count."""
    cut = pl.concat_str("series_key", pl.lit("-"), pl.col("component_share").cast(pl.String))
    chosen = pl.col("series").is_in(series)
    return runs.with_columns(pl.when(chosen).then(cut).otherwise("series_key").alias("series_key"))


def test_sim_p_all_series_by_differences_equals_metafor(open_case: OpenCase, lay_out: LayOut) -> None:
    """Series without a baseline by differences to their lowest share (metafor; no series term in this check fit)."""
    case = open_case("sim_p_dip_step")
    expected = case.json("expected_headline.json")
    table, check = case.table("effects_difference.csv"), expected["all_series_by_differences"]
    shares = np.array(check["shares"], dtype=float)
    reference, share = table["ref"], table["share_pct"]
    X = (share[:, None] == shares).astype(float) - (reference[:, None] == shares)
    based = (reference == 0).astype(float)
    layout = lay_out(
        table["yi"],
        X,
        expected["s_r2"] / table["n_mix"],
        expected["s_r2"] / table["n_base"],
        table["series"],
        table["site"],
        z_member=np.column_stack([based, (share - reference) / 100]),
        with_mix=True,
        shared_filling=reference > 0,
    )
    fit = fit_layout(layout)
    assert fit.coefficients == pytest.approx(check["beta"], rel=1e-6)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(check["se"], rel=1e-6)
    assert fit.variances == pytest.approx([check["tau2"][1], check["gamma2"][1], check["sigma2"]], rel=1e-5)
    assert fit.log_likelihood == pytest.approx(check["logLik_REML"], abs=1e-6)


def test_konstantopoulos_three_level_equals_metafor_and_the_published_figures(
    open_case: OpenCase, lay_out: LayOut
) -> None:
    """metafor's three_level_REML; published (from memory): mean 0.185 (SE 0.085), variances 0.065 and 0.033."""
    case = open_case("konstantopoulos2011_three_level")
    expected = case.json("expected.json")["models"]["three_level_REML"]
    table = case.table()
    ones = np.ones((len(table["yi"]), 1))
    layout = lay_out(
        table["yi"],
        ones,
        table["vi"],
        np.zeros(len(table["yi"])),
        table["cluster"],
        table["district"],
        z_member=ones,
        z_series=ones,
    )
    fit = fit_layout(layout)
    assert fit.coefficients[0] == pytest.approx(expected["beta"]["intrcpt"], rel=1e-6)
    assert np.sqrt(fit.covariance[0, 0]) == pytest.approx(expected["se"]["intrcpt"], rel=1e-6)
    assert fit.variances == pytest.approx(expected["sigma2"], rel=1e-5)
    assert fit.log_likelihood == pytest.approx(expected["logLik_REML"], abs=1e-6)
    robust = cluster_robust(fit, layout.row_member)
    assert robust.standard_errors[0] == pytest.approx(expected["CR2"]["se"], rel=1e-6)
    assert robust.degrees[0] == pytest.approx(expected["CR2"]["df_satterthwaite"], rel=1e-6)
    assert fit.coefficients[0] == pytest.approx(0.185, abs=5e-4)
    assert fit.variances == pytest.approx([0.065, 0.033], abs=5e-4)

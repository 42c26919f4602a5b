"""From runs.csv through the tool's own cells, contrasts and repeatability to outside values (metafor 3.8.1)."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest

from pipeline.compare.behind.curve_check import curve_layout
from pipeline.compare.contrasts.cells import Cells
from pipeline.compare.contrasts.effects import connected_rows, contrast
from pipeline.compare.contrasts.repeatability import Repeatability, pool_repeatability
from pipeline.compare.contrasts.selection import cells_of, of_component, with_codes
from pipeline.compare.model.reml import fit_layout
from pipeline.compare.model.robust import cluster_robust
from tests.reference.conftest import Case, OpenCase


def cells(case: Case, pour: int = 1) -> Cells:
    runs = of_component(with_codes(case.run_frame()), "perlite", "sphagnum_peat")
    return cells_of(runs.filter(pl.col("pour_no") == pour), stopwatch_step_s=0.0)


def pooled(found: Cells) -> Repeatability:
    return pool_repeatability(found.pots, found.sum_squares, found.share, found.member, 0.12)


@pytest.mark.parametrize("pour", [1, 2, 3])
def test_settled_pours_of_sim_g(pour: int, open_case: OpenCase) -> None:
    """Repeatability and the slope-only model of every pour (expected.json, extra)."""
    case = open_case("sim_g_settling")
    expected = case.json("expected.json")["extra"][f"pour_{pour}"]
    found = cells(case, pour)
    sd = pooled(found).sd
    assert sd**2 == pytest.approx(expected["s_r2"], rel=1e-9)
    layout, _ = curve_layout(contrast(found, sd**2))
    fit = fit_layout(layout)
    assert fit.coefficients == pytest.approx(expected["beta"], rel=1e-6)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(expected["se"], rel=1e-6)
    variances = [expected["tau2"][1], expected["gamma2"][1], expected["sigma2"]]
    assert fit.variances == pytest.approx(variances, rel=1e-5, abs=1e-6)
    assert fit.log_likelihood == pytest.approx(expected["logLik_REML"], abs=1e-6)


def test_series_without_a_baseline_by_differences_in_sim_n(open_case: OpenCase) -> None:
    """All series, slope-only model on differences to the lowest share present; CR2 by member (clubSandwich)."""
    case = open_case("sim_n_no_baseline")
    expected = case.json("expected.json")["extra"]["all_series_by_differences"]
    effects = contrast(cells(case), 0.12**2)
    assert connected_rows(effects).all()
    layout, _ = curve_layout(effects)
    fit = fit_layout(layout)
    assert fit.coefficients == pytest.approx(list(expected["beta"].values()), rel=1e-6)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(list(expected["se"].values()), rel=1e-6)
    assert fit.log_likelihood == pytest.approx(expected["logLik_REML"], abs=1e-6)
    robust = cluster_robust(fit, layout.row_member)
    assert robust.standard_errors == pytest.approx(expected["CR2"]["se"], rel=1e-6)
    assert robust.degrees == pytest.approx(expected["CR2"]["df_satterthwaite"], rel=1e-6)


@pytest.mark.parametrize(
    "name", ["sim_b_replicated", "sim_c_moderators", "sim_d_two_sites", "sim_e_one_site"]
)
def test_effects_equal_the_references(name: str, open_case: OpenCase) -> None:
    """yi, n and variances of effects.csv; pooled s_r of expected.json."""
    case = open_case(name)
    expected, table = case.json("expected.json"), case.table()
    found = cells(case)
    repeat = pooled(found)
    assert repeat.pooled is not None
    assert repeat.pooled**2 == pytest.approx(expected["s_r2"], rel=1e-9)
    assert repeat.degrees == expected["s_r_df"]
    effects = contrast(found, expected["s_r2"])
    order = np.lexsort((table["share_pct"], table["series"]))
    assert effects.share.tolist() == table["share_pct"][order].tolist()
    assert effects.y == pytest.approx(table["yi"][order], abs=1e-9)
    assert effects.own_variance == pytest.approx(table["v_own"][order], rel=1e-9)
    assert effects.reference_variance == pytest.approx(table["v_base"][order], rel=1e-9)

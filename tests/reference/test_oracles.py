"""Second oracles for the two-level cases: statsmodels and PyMARE where the `oracles` extra is installed, and a live
comparison with R's metafor where Rscript is found."""

from __future__ import annotations

import importlib
import shutil
import subprocess

import numpy as np
import pytest

from pipeline.compare.model.reml import Fit, fit_layout
from tests.reference.conftest import LayOut, OpenCase, Table

TWO_LEVEL = ["bcg_rr", "curtis1998_rom"]


def two_level_fit(table: Table, lay_out: LayOut) -> Fit:
    rows = len(table["yi"])
    one = np.ones((rows, 1))
    own = np.arange(rows)
    return fit_layout(lay_out(table["yi"], one, table["vi"], np.zeros(rows), own, own, z_member=one))


@pytest.mark.oracles
@pytest.mark.parametrize("name", TWO_LEVEL)
@pytest.mark.parametrize(("method", "key"), [("chi2", "DL"), ("pm", "PauleMandel")])
def test_statsmodels_agrees_with_the_references_the_tool_has_no_estimator_for(
    name: str, method: str, key: str, open_case: OpenCase
) -> None:
    meta = importlib.import_module("statsmodels.stats.meta_analysis")
    case = open_case(name)
    expected = case.json("expected.json")["models"][key]
    table = case.table()
    found = meta.combine_effects(table["yi"], table["vi"], method_re=method, atol=1e-12)
    assert found.tau2 == pytest.approx(expected["tau2"], rel=1e-6)
    assert found.mean_effect_re == pytest.approx(expected["beta"]["intrcpt"], rel=1e-6)


@pytest.mark.oracles
@pytest.mark.parametrize("name", TWO_LEVEL)
def test_statsmodels_fixed_effect_equals_ours(name: str, open_case: OpenCase, lay_out: LayOut) -> None:
    meta = importlib.import_module("statsmodels.stats.meta_analysis")
    table = open_case(name).table()
    rows = len(table["yi"])
    own = np.arange(rows)
    ours = fit_layout(lay_out(table["yi"], np.ones((rows, 1)), table["vi"], np.zeros(rows), own, own))
    found = meta.combine_effects(table["yi"], table["vi"])
    assert ours.coefficients[0] == pytest.approx(found.mean_effect_fe, rel=1e-10)
    assert ours.covariance[0, 0] == pytest.approx(found.var_eff_w_fe, rel=1e-10)


@pytest.mark.oracles
@pytest.mark.parametrize("name", TWO_LEVEL)
def test_pymare_reml_equals_ours(name: str, open_case: OpenCase, lay_out: LayOut) -> None:
    """PyMARE's optimiser is the looser side: tau2 agrees to about 2e-8."""
    pymare = importlib.import_module("pymare")
    from pymare.estimators import VarianceBasedLikelihoodEstimator

    table = open_case(name).table()
    data = pymare.Dataset(y=table["yi"], v=table["vi"], X=None, add_intercept=True)
    found = VarianceBasedLikelihoodEstimator(method="REML").fit_dataset(data).summary()
    ours = two_level_fit(table, lay_out)
    assert ours.variances[0] == pytest.approx(float(np.ravel(found.tau2)[0]), rel=1e-4)
    assert ours.coefficients[0] == pytest.approx(float(np.ravel(found.get_fe_stats()["est"])[0]), rel=1e-5)


SCRIPT = """
suppressMessages(library(metafor)); d <- read.csv("effects.csv")
f <- rma(yi, vi, data = d, method = "REML", control = list(threshold = 1e-12, maxiter = 1000))
cat(sprintf("%.15g %.15g %.15g %.15g", f$tau2, coef(f), f$se, as.numeric(logLik(f))))
"""


@pytest.mark.parametrize("name", TWO_LEVEL)
def test_live_metafor_equals_ours(
    name: str, open_case: OpenCase, lay_out: LayOut, request: pytest.FixtureRequest
) -> None:
    rscript = shutil.which("Rscript")
    if rscript is None:
        pytest.skip("Rscript is not installed")
    folder = request.path.parent / name
    done = subprocess.run([rscript, "-e", SCRIPT], cwd=folder, capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip("R has no metafor")
    tau2, mean, error, value = (float(one) for one in done.stdout.split())
    ours = two_level_fit(open_case(name).table(), lay_out)
    assert ours.variances[0] == pytest.approx(tau2, rel=1e-5)
    assert ours.coefficients[0] == pytest.approx(mean, rel=1e-6)
    assert np.sqrt(ours.covariance[0, 0]) == pytest.approx(error, rel=1e-6)
    assert ours.log_likelihood == pytest.approx(value, abs=1e-6)

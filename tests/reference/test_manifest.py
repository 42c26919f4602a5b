"""Every case and model that MANIFEST.json lists, against metafor 3.8.1, clubSandwich 0.5.8, survival, MASS and lme4.

The grid can't shrink: each (case, model) of the manifest must have a check here or among the named oracles, and every
case without a model a test of its own. Tolerances: the references' README.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest

from pipeline.compare.model.heterogeneity import typical_sampling_variance
from pipeline.compare.model.layout import Layout
from pipeline.compare.model.reml import Fit, fit_layout
from pipeline.compare.model.robust import cluster_robust, covariance_blocks
from tests.reference.conftest import HeadlineLayout, LayOut, OpenCase, Table

HERE = Path(__file__).parent
MANIFEST = {case["case"]: case for case in json.loads((HERE / "MANIFEST.json").read_text(encoding="utf-8"))}
SIMULATED = [name for name in MANIFEST if name.startswith("sim_")]
ELSEWHERE = {
    # checked with statsmodels in test_oracles.py: the tool has neither estimator
    ("bcg_rr", "DL"),
    ("bcg_rr", "PauleMandel"),
    ("curtis1998_rom", "DL"),
    ("curtis1998_rom", "PauleMandel"),
    # checked in test_headline.py on the leave-one-out refits and on all series by differences
    ("sim_p_dip_step", "tool_headline_leave_one_out"),
    ("sim_p_dip_step", "all_series_by_differences"),
    # an unstructured covariance is no model of the tool; its robust errors are checked below at the given covariance
    ("berkey1998_multivariate", "UN_REML"),
}
Design = Callable[[Table], np.ndarray]
Model = tuple[Callable[[Table, LayOut], Layout], tuple[str, ...]]
CASES_WITHOUT_MODELS = {
    "chem_robust",
    "dyestuff_repeatability",
    "motors_censored_lognormal",
    "sim_f_censored",
    "sim_l_censored_mixed",
}


def ones(rows: int) -> np.ndarray:
    return np.ones((rows, 1))


def two_level(X: Design | None = None, keep: Design | None = None) -> Model:
    """One effect per study: a random intercept beside a known variance."""

    def made(table: Table, lay_out: LayOut) -> Layout:
        chosen = np.ones(len(table["yi"]), dtype=bool) if keep is None else keep(table)
        table = {name: column[chosen] for name, column in table.items()}
        rows = len(table["yi"])
        own = np.arange(rows)
        design = ones(rows) if X is None else X(table)
        return lay_out(table["yi"], design, table["vi"], np.zeros(rows), own, own, z_member=ones(rows))

    return made, ("tau2",)


def nested(outer: str, inner: str, X: Design | None = None) -> Model:
    """Random intercepts of two levels beside a known variance."""

    def made(table: Table, lay_out: LayOut) -> Layout:
        rows = len(table["yi"])
        pair = np.array([f"{a} {b}" for a, b in zip(table[outer], table[inner], strict=True)])
        design = ones(rows) if X is None else X(table)
        return lay_out(
            table["yi"],
            design,
            table["vi"],
            np.zeros(rows),
            pair,
            table[outer],
            z_member=ones(rows),
            z_series=ones(rows),
        )

    return made, ("sigma2[0]", "sigma2[1]")


def fixed_effect(table: Table, lay_out: LayOut) -> Layout:
    rows = len(table["yi"])
    return lay_out(table["yi"], ones(rows), table["vi"], np.zeros(rows), np.arange(rows), np.arange(rows))


def pooled_cv(table: Table, lay_out: LayOut) -> Layout:
    """Nakagawa et al. 2023 as in the reference: pooled CV² in place of each row's own."""
    n1, n2 = table["n1i"], table["n2i"]
    c1 = np.average((table["sd1i"] / table["m1i"]) ** 2, weights=n1)
    c2 = np.average((table["sd2i"] / table["m2i"]) ** 2, weights=n2)
    y = np.log(table["m1i"] / table["m2i"]) + 0.5 * (c1 / n1 - c2 / n2)
    v = c1 / n1 + c2 / n2 + c1**2 / (2 * n1**2) + c2**2 / (2 * n2**2)
    return two_level()[0]({"yi": y, "vi": v}, lay_out)


def shares(table: Table) -> np.ndarray:
    columns: np.ndarray = (table["share_pct"][:, None] == np.unique(table["share_pct"])).astype(float)
    return columns


def curve(table: Table) -> np.ndarray:
    return np.column_stack([table["x"], table["x2"]])


def slopes(X: Design) -> Model:
    """The slope-only model: x by member and by series, fillings with K = I + 11'."""

    def made(table: Table, lay_out: LayOut) -> Layout:
        x = table["x"][:, None]
        many = len(np.unique(table["site"])) > 1
        return lay_out(
            table["yi"],
            X(table),
            table["v_own"],
            table["v_base"],
            table["series"],
            table["site"],
            z_member=x if many else None,
            z_series=x,
            with_mix=True,
            shared_filling=np.ones(len(x), dtype=bool),
        )

    return made, ("tau2[1]", "gamma2[1]", "sigma2")


def with_moderators(table: Table) -> np.ndarray:
    x = table["x"]

    def level(column: str, name: str) -> np.ndarray:
        return np.where(table[column] == name, x, 0.0)

    return np.column_stack(
        [
            x,
            table["x2"],
            x * np.log2(table["pot_l"] / 2),
            level("grade", "medium"),
            level("grade", "coarse"),
            level("setup", "on_sieve"),
            level("climate", "temperate"),
            level("climate", "warm_dry"),
        ]
    )


def three_level_categories(table: Table, lay_out: LayOut) -> Layout:
    rows = len(table["yi"])
    return lay_out(
        table["yi"],
        shares(table),
        table["v_own"],
        table["v_base"],
        table["series"],
        table["site"],
        z_member=ones(rows),
        z_series=ones(rows),
        with_mix=True,
    )


def naive(table: Table, lay_out: LayOut) -> Layout:
    rows = len(table["yi"])
    return lay_out(
        table["yi"],
        curve(table),
        table["vi"],
        np.zeros(rows),
        table["series"],
        table["series"],
        z_member=ones(rows),
    )


def shared_reference(X: Design) -> Model:
    def made(table: Table, lay_out: LayOut) -> Layout:
        return lay_out(
            table["yi"],
            X(table),
            table["v_own"],
            table["v_ref"],
            table["study"],
            table["study"],
            z_member=table["dbmi"][:, None],
        )

    return made, ("tau2[1]",)


def deltype(table: Table) -> np.ndarray:
    return np.column_stack(
        [np.ones(len(table["yi"])), table["deltype"] == "general", table["deltype"] == "overt"]
    ).astype(float)


def ablat(table: Table) -> np.ndarray:
    return np.column_stack([np.ones(len(table["yi"])), table["ablat"]])


THREE: Model = (three_level_categories, ("sigma2[0]", "sigma2[1]", "sigma2[2]"))
MODELS: dict[tuple[str, str], Model] = {
    ("assink2016_three_level", "three_level_REML"): nested("study", "esid"),
    ("assink2016_three_level", "three_level_deltype"): nested("study", "esid", deltype),
    ("bangertdrowns2004_metareg", "REML"): two_level(),
    ("bangertdrowns2004_metareg", "REML_length_KH"): two_level(
        lambda table: np.column_stack([np.ones(len(table["yi"])), table["lenc"]]),
        lambda table: np.isfinite(table["lenc"]),
    ),
    ("bcg_rr", "REML"): two_level(),
    ("bcg_rr", "REML_KnappHartung"): two_level(),
    ("bcg_rr", "REML_ablat"): two_level(ablat),
    ("bcg_rr", "REML_ablat_KnappHartung"): two_level(ablat),
    ("curtis1998_rom", "fixed_effect"): (fixed_effect, ()),
    ("curtis1998_rom", "REML"): two_level(),
    ("curtis1998_rom", "REML_KnappHartung"): two_level(),
    ("curtis1998_rom", "three_level_REML"): nested("paper", "id"),
    ("curtis1998_rom", "pooledCV_REML"): (pooled_cv, ("tau2",)),
    ("konstantopoulos2011_three_level", "three_level_REML"): nested("district", "school"),
    ("konstantopoulos2011_three_level", "three_level_REML_t"): nested("district", "school"),
    ("konstantopoulos2011_three_level", "three_level_ML"): nested("district", "school"),
    ("konstantopoulos2011_three_level", "three_level_REML_year_centred"): nested(
        "district",
        "school",
        lambda table: np.column_stack([np.ones(56), table["year"] - table["year"].mean()]),
    ),
    ("konstantopoulos2011_three_level", "two_level_REML"): two_level(),
    ("obrien2003_shared_reference_dose", "linear"): shared_reference(lambda table: table["dbmi"][:, None]),
    ("obrien2003_shared_reference_dose", "quadratic"): shared_reference(
        lambda table: np.column_stack([table["dbmi"], table["dbmi2"]])
    ),
    **{(name, "headline"): slopes(curve) for name in SIMULATED},
    **{(name, "headline_categories"): slopes(shares) for name in SIMULATED},
    **{(name, "three_level_categories"): THREE for name in SIMULATED},
    **{(name, "naive_independent"): (naive, ("sigma2",)) for name in SIMULATED},
    ("sim_c_moderators", "moderators"): slopes(with_moderators),
}
GRID = [(name, model) for name, case in MANIFEST.items() for model in case["models"]]
FITTED = [pair for pair in GRID if pair in MODELS]


def test_the_grid_of_the_manifest_is_covered() -> None:
    tool = {(name, "tool_headline") for name in SIMULATED}
    assert set(GRID) <= set(MODELS) | ELSEWHERE | tool
    assert {name for name, case in MANIFEST.items() if not case["models"]} == CASES_WITHOUT_MODELS
    assert len(GRID) == 59
    for name, case in MANIFEST.items():
        assert all((HERE / name / file).exists() for file in case["files"]), name


def expected_variance(model: Mapping[str, Any], key: str) -> float:
    name, _, position = key.partition("[")
    value = model.get(name, 0.0)
    return float(value[int(position[:-1])] if position and isinstance(value, list) else value)


@pytest.mark.parametrize(("name", "key"), FITTED, ids=[f"{a}-{b}" for a, b in FITTED])
def test_model_equals_metafor(name: str, key: str, open_case: OpenCase, lay_out: LayOut) -> None:
    case = open_case(name)
    model = case.json("expected.json")["models"][key]
    build, variances = MODELS[(name, key)]
    layout = build(case.table(), lay_out)
    fit = fit_layout(layout, restricted=model["method"] != "ML")
    error = np.sqrt(np.diag(fit.covariance))
    if model["test"] == "knha":
        error = error * np.sqrt(knapp_hartung(fit))
    assert (len(layout.y), layout.X.shape[1]) == (model["k"], model["p"])
    scale = 1e-6 * np.abs(list(model["beta"].values())).max()
    assert fit.coefficients == pytest.approx(list(model["beta"].values()), rel=1e-6, abs=scale)
    assert error == pytest.approx(list(model["se"].values()), rel=1e-6)
    found = [
        fit.variances[layout.variance_names.index(one)] if one in layout.variance_names else 0.0
        for one in names(layout, variances)
    ]
    assert found == pytest.approx([expected_variance(model, one) for one in variances], rel=1e-5, abs=1e-6)
    likelihood = model["logLik_ML" if model["method"] == "ML" else "logLik_REML"]
    assert fit.log_likelihood == pytest.approx(likelihood, abs=1e-6)
    if "typical_sampling_variance" in model:
        assert typical_sampling_variance(layout) == pytest.approx(
            model["typical_sampling_variance"], rel=1e-6
        )
    if "CR2" in model:
        robust = cluster_robust(fit, layout.row_member)
        assert robust.clusters == model["CR2"]["clusters"]
        assert robust.standard_errors == pytest.approx(np.atleast_1d(model["CR2"]["se"]), rel=1e-6)
        assert robust.degrees == pytest.approx(np.atleast_1d(model["CR2"]["df_satterthwaite"]), rel=1e-6)


def names(layout: Layout, variances: tuple[str, ...]) -> list[str]:
    """Our variance names in the order of the reference's: member, series, mix."""
    order = {"tau2": "member_0", "tau2[1]": "member_0", "gamma2[1]": "series_0"}
    if variances == ("sigma2",):
        return ["member_0"]
    if variances == ("tau2[1]", "gamma2[1]", "sigma2"):
        return ["member_0", "series_0", "mix"]
    return [order.get(one, ["member_0", "series_0", "mix"][j]) for j, one in enumerate(variances)]


def knapp_hartung(fit: Fit) -> float:
    """s2 = r'M^-1 r / (k - p), Knapp & Hartung 2003; not truncated at 1, as in metafor's test = "knha"."""
    layout = fit.layout
    M = covariance_blocks(layout, fit.variances, np.arange(len(layout.y))[None, :])[0]
    residual = layout.y - layout.X @ fit.coefficients
    return float(residual @ np.linalg.solve(M, residual) / (len(layout.y) - layout.X.shape[1]))


TOOL = [name for name in SIMULATED if "tool_headline" in MANIFEST[name]["models"]]


@pytest.mark.parametrize("name", TOOL)
def test_the_tools_headline_equals_metafor(
    name: str, open_case: OpenCase, headline_layout: HeadlineLayout
) -> None:
    expected = open_case(name).json("expected_headline.json")
    fit = fit_layout(headline_layout(open_case(name)))
    model = expected["model"]
    assert fit.coefficients == pytest.approx(list(model["beta"].values()), rel=1e-6)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(list(model["se"].values()), rel=1e-6)
    variances = [expected[key] for key in ("tau2_intercept", "tau2_slope", "sigma2_series", "sigma2_mix")]
    assert fit.variances == pytest.approx(variances, rel=1e-5, abs=1e-6)
    assert fit.log_likelihood == pytest.approx(model["logLik_REML"], abs=1e-6)


def test_berkey_robust_errors_at_the_references_covariance(open_case: OpenCase) -> None:
    """Berkey 1998: an unstructured covariance of two outcomes, taken from the reference; GLS and CR2 are ours."""
    from types import SimpleNamespace

    from pipeline.compare.model import robust as module

    case = open_case("berkey1998_multivariate")
    model = case.json("expected.json")["models"]["UN_REML"]
    table = case.table()
    first, second = model["tau2"]
    between = np.array([[first, model["rho"] * np.sqrt(first * second)], [0, second]])
    between[1, 0] = between[0, 1]
    kind = (table["outcome"] == "PD").astype(int)
    trial = np.unique(table["trial"], return_inverse=True)[1]
    M = np.zeros((10, 10))
    for one in range(5):
        at = np.flatnonzero(trial == one)
        known = np.column_stack([table["v1i"][at], table["v2i"][at]])
        M[np.ix_(at, at)] = between[np.ix_(kind[at], kind[at])] + known
    X = np.column_stack([kind == 0, kind == 1]).astype(float)
    Q = np.linalg.inv(X.T @ np.linalg.solve(M, X))
    b = Q @ X.T @ np.linalg.solve(M, table["yi"])
    assert b == pytest.approx(list(model["beta"].values()), rel=1e-6)
    assert np.sqrt(np.diag(Q)) == pytest.approx(list(model["se"].values()), rel=1e-6)
    fit = SimpleNamespace(
        layout=SimpleNamespace(X=X, y=table["yi"]), covariance=Q, coefficients=b, variances=None
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            module, "covariance_blocks", lambda layout, variances, rows: M[rows[:, :, None], rows[:, None, :]]
        )
        found = module.cluster_robust(cast(Fit, fit), trial)
    assert found.standard_errors == pytest.approx(model["CR2"]["se"], rel=1e-6)
    assert found.degrees == pytest.approx(model["CR2"]["df_satterthwaite"], rel=1e-6)

"""Agreement between growers against outside values: ISO 5725-2, algorithm A, deletion z."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.compare.behind.agreement import algorithm_a, deletion_z, laboratories, robust_scores
from pipeline.compare.model.leave_out import refit_without
from pipeline.compare.model.reml import fit_layout
from tests.reference.conftest import LayOut, OpenCase


def test_dyestuff_moments_equal_the_reference(open_case: OpenCase) -> None:
    """Davies & Goldsmith 1972 via lme4 (from memory): batch variance 1764.05, residual 2451.25, mean 1527.5."""
    case = open_case("dyestuff_repeatability")
    expected = case.json("expected.json")["iso5725_2"]
    table = case.table()
    found = laboratories(table["Yield"], np.unique(table["Batch"], return_inverse=True)[1])
    assert found.mean == pytest.approx(expected["general_mean"])
    assert found.s_r == pytest.approx(expected["s_r"], rel=1e-9)
    assert found.s_between == pytest.approx(expected["s_L"], rel=1e-9)
    assert found.s_reproducibility == pytest.approx(expected["s_R"], rel=1e-9)
    assert found.h == pytest.approx(expected["mandel_h"], rel=1e-9)
    assert found.k == pytest.approx(expected["mandel_k"], rel=1e-9)
    assert found.s_between is not None and found.s_r is not None
    assert found.s_between**2 == pytest.approx(1764.05, abs=0.01)
    assert found.s_r**2 == pytest.approx(2451.25, abs=0.01)


def test_algorithm_a_equals_the_reference(open_case: OpenCase) -> None:
    """ISO 13528 annex C (constants from memory) on MASS::chem; published, loosely: mean 3.206, s 0.674."""
    case = open_case("chem_robust")
    expected = case.json("expected.json")
    values = case.table()["x"]
    found = algorithm_a(values)
    assert found.mean == pytest.approx(expected["algorithm_A"]["mean"], rel=1e-7)
    assert found.sd == pytest.approx(expected["algorithm_A"]["sd"], rel=1e-7)
    assert (values - found.mean) / found.sd == pytest.approx(expected["z_scores_algorithm_A"], rel=1e-6)
    scores = robust_scores(values)
    assert scores is not None and len(scores) == len(values)


def test_deletion_z_equals_the_reference_on_the_slope_only_model(
    open_case: OpenCase, lay_out: LayOut
) -> None:
    case = open_case("sim_a_single_runs")
    table = case.table()
    x = table["x"][:, None]
    layout = lay_out(
        table["yi"],
        np.column_stack([table["x"], table["x2"]]),
        table["v_own"],
        table["v_base"],
        table["series"],
        table["site"],
        z_member=x,
        z_series=x,
        with_mix=True,
        shared_filling=np.ones(len(x), dtype=bool),
    )
    left_out = [np.array([member]) for member in range(layout.members)]
    found = deletion_z(layout, refit_without(fit_layout(layout), left_out), left_out, layout.X[:, 0])
    expected = case.json("expected_deletion.json")["sites"]
    assert found == pytest.approx([one["z"] for one in expected], abs=1e-5)

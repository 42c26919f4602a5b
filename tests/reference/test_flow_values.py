"""Flow and viscosity against outside values.

Sources: `check_values/check_values.json` (rates, falling head and viscosity factors, computed for the
project's notes from IAPWS 2008) and `check_values/viscosity_0_40C.csv` (IAPWS 2008 viscosity and IAPWS-95
density at 0.101325 MPa, computed with the iapws package; CoolProp gave the same figures).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from schemas.trade.flow import density_kg_m3, factor_to_20c, falling_head_cm_s, rate_ml_min_l, viscosity_mpa_s

HERE = Path(__file__).parent / "check_values"
VALUES: dict[str, Any] = json.loads((HERE / "check_values.json").read_text(encoding="utf-8"))
FACTORS: dict[str, float] = VALUES["f_T"]
TABLE = pl.read_csv(HERE / "viscosity_0_40C.csv")


@pytest.mark.parametrize("case", VALUES["rate_ml_min_l"], ids=lambda case: f"{case['rate']:g}")
def test_rate_per_litre_agrees_to_the_digits_given(case: dict[str, float]) -> None:
    run = pl.DataFrame(
        {"collected_ml": [case["out_ml"]], "drain_time_s": [case["s"]], "pot_volume_ml": [case["mix_ml"]]}
    )
    assert run.select(rate_ml_min_l()).item() == pytest.approx(case["rate"], abs=5e-4)


@pytest.mark.parametrize("case", VALUES["K_falling_head_cm_s"], ids=lambda case: f"{case['K']:g}")
def test_falling_head_agrees_to_the_digits_given(case: dict[str, float]) -> None:
    lengths = [pl.lit(case[name]) for name in ("L", "h1", "h2", "t")]
    assert pl.select(falling_head_cm_s(*lengths)).item() == pytest.approx(case["K"], abs=5e-6)


@pytest.mark.parametrize(("celsius", "factor"), [*FACTORS.items()])
def test_factor_to_20c_at_the_named_temperatures(celsius: str, factor: float) -> None:
    # 0.05 %: the four-term fit differs from the full 2008 formulation by at most 0.04 % at 0-40 °C
    assert pl.select(factor_to_20c(pl.lit(float(celsius)))).item() == pytest.approx(factor, rel=5e-4)


def test_water_from_0_to_40_degrees() -> None:
    assert TABLE.height == 41
    seen = TABLE.select(
        (factor_to_20c(pl.col("temp_c")) / pl.col("f_T_nu_ratio") - 1).abs().max().alias("factor"),
        (viscosity_mpa_s(pl.col("temp_c")) / pl.col("mu_mPa_s") - 1).abs().max().alias("viscosity"),
        (density_kg_m3(pl.col("temp_c")) / pl.col("rho_kg_m3") - 1).abs().max().alias("density"),
    ).row(0, named=True)
    assert seen["factor"] < 5e-4
    assert seen["viscosity"] < 5e-4
    assert seen["density"] < 1e-5  # the table gives two decimals

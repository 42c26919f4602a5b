"""How runny water is: the factor that turns a rate at one water temperature into the rate at 20 °C.

In laminar flow a rate is inversely proportional to the kinematic viscosity ν of the water, so
`rate at 20 °C = rate × ν_T / ν_20`. Above a front speed of about 0.1-0.5 cm/s pouring and holes limit the
flow too, and the factor says too much: it is offered as a view only.

`ν = μ / ρ`. μ: liquid water at 0.1 MPa, IAPWS SR6-08(2011), the four-term fit to the IAPWS 2008 viscosity
(coefficients from memory, -20 to 110 °C). ρ: Kell 1975, J. Chem. Eng. Data 20:97 (coefficients from memory).
Both are checked in tests/reference against IAPWS 2008 / IAPWS-95 values: the factor agrees within 0.04 %
from 0 to 40 °C.
"""

from __future__ import annotations

import polars as pl

VISCOSITY_TERMS = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
"""(coefficient in 10⁻⁶ Pa s, exponent of T / 300 K)."""
DENSITY_TERMS = (
    999.83952,
    16.945176,
    -7.9870401e-3,
    -46.170461e-6,
    105.56302e-9,
    -280.54253e-12,
)
DENSITY_DIVISOR = 16.879850e-3


def viscosity_mpa_s(temperature_c: pl.Expr) -> pl.Expr:
    """Dynamic viscosity of water, mPa s: `10⁻³ Σ a (T / 300 K)^b`."""
    relative = (temperature_c + 273.15) / 300.0
    terms = [coefficient * relative.pow(exponent) for coefficient, exponent in VISCOSITY_TERMS]
    return 1e-3 * (terms[0] + terms[1] + terms[2] + terms[3])


def density_kg_m3(temperature_c: pl.Expr) -> pl.Expr:
    """Density of water at 1 atm, kg/m³: a fifth-order polynomial in °C over `1 + 0.01688 t`."""
    polynomial = pl.lit(0.0)
    for coefficient in reversed(DENSITY_TERMS):
        polynomial = polynomial * temperature_c + coefficient
    return polynomial / (1.0 + DENSITY_DIVISOR * temperature_c)


def factor_to_20c(temperature_c: pl.Expr) -> pl.Expr:
    """`ν_T / ν_20`: 1.513 at 5 °C, 1 at 20 °C, 0.721 at 35 °C; null where the temperature is."""
    at_20 = pl.lit(20.0)
    return (viscosity_mpa_s(temperature_c) / density_kg_m3(temperature_c)) / (
        viscosity_mpa_s(at_20) / density_kg_m3(at_20)
    )

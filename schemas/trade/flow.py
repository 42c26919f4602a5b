"""Flow through a pot of mix, as column expressions over the canonical run frame.

Lengths in cm, volumes in ml (= cm³), times in s. Sources: Darcy's law and the falling-head permeameter as
in any soil physics text (Darcy 1856; the falling-head formula of ASTM D5084, method C, from memory).

Viscosity: the factor that turns a rate at one water temperature into the rate at 20 °C.

In laminar flow a rate is inversely proportional to the kinematic viscosity ν of the water, so
`rate at 20 °C = rate × ν_T / ν_20`. Above a front speed of about 0.1-0.5 cm/s pouring and holes limit the
flow too, and the factor says too much: it is offered as a view only.

`ν = μ / ρ`. μ: liquid water at 0.1 MPa, IAPWS SR6-08(2011), the four-term fit to the IAPWS 2008 viscosity
(coefficients from memory, -20 to 110 °C). ρ: Kell 1975, J. Chem. Eng. Data 20:97 (coefficients from memory).
Both are checked in tests/reference against IAPWS 2008 / IAPWS-95 values: the factor agrees within 0.04 %
from 0 to 40 °C.
"""

from __future__ import annotations

import math

import polars as pl

from schemas.trade.pots import mix_area_cm2

ML_PER_L = 1000.0
S_PER_MIN = 60.0
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


def rate_ml_min_l() -> pl.Expr:
    """Drain rate, ml per minute and litre of mix: `collected / (time / 60) / (pot volume / 1000)`.

    A cup of 236.588 ml out of 1 l in 60 s is 236.588. Dividing by volume takes out the width of the pot,
    not its depth (by Darcy's law the rate falls as 1 / depth): inside one series that cancels.
    """
    return (
        pl.col("collected_ml") / (pl.col("drain_time_s") / S_PER_MIN) / (pl.col("pot_volume_ml") / ML_PER_L)
    )


def front_speed_cm_s() -> pl.Expr:
    """Front speed q, cm/s: `collected / (time × area of mix)`."""
    return pl.col("collected_ml") / (pl.col("drain_time_s") * mix_area_cm2())


def conductivity_cm_s() -> pl.Expr:
    """Saturated conductivity K by falling head, cm/s; null where an inside length is missing.

    The pour stands on the mix, above the fill line, over the area `A = π/4 · D²`; the mix is already wet,
    so what comes out at the base has left that water: heads above the mix `h1 = poured / A` at the start
    and `h2 = (poured - collected) / A` when the clock stops. The base drains freely into air. With the mix
    of depth L and effective area `π/4 · D · d`,

        K = (D / d) · (L / t) · ln((L + h1) / (L + h2))

    which in a straight pot is `(L / t) · ln((L + h1) / (L + h2))`. What a wetter or drier start, the few
    seconds of pouring or the pot's holes do to it is not corrected for.
    """
    top, base, depth = (
        pl.col(name) for name in ("pot_top_diameter_cm", "pot_base_diameter_cm", "fill_depth_cm")
    )
    standing_area = math.pi / 4.0 * top * top
    head_first = pl.col("poured_ml") / standing_area
    head_last = (pl.col("poured_ml") - pl.col("collected_ml")) / standing_area
    return top / base * falling_head_cm_s(depth, head_first, head_last, pl.col("drain_time_s"))


def falling_head_cm_s(depth_cm: pl.Expr, first_cm: pl.Expr, last_cm: pl.Expr, time_s: pl.Expr) -> pl.Expr:
    """K of a straight column whose head above the mix falls from `first_cm` to `last_cm` in `time_s`:
    `(L / t) · ln((L + h1) / (L + h2))`, cm/s. L 10 cm, 4 to 2 cm in 60 s: 0.02569 cm/s."""
    return depth_cm / time_s * ((depth_cm + first_cm) / (depth_cm + last_cm)).log()


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

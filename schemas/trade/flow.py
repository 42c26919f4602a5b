"""Flow through a pot of mix, as column expressions over the canonical run frame.

Lengths in cm, volumes in ml (= cm³), times in s. Sources: Darcy's law and the falling-head permeameter as
in any soil physics text (Darcy 1856; the falling-head formula of ASTM D5084, method C, from memory).
"""

from __future__ import annotations

import math

import polars as pl

from schemas.trade.pots import mix_area_cm2

ML_PER_L = 1000.0
S_PER_MIN = 60.0


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

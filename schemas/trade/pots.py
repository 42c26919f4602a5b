"""A pot's geometry: volume of a truncated cone, the area that water crosses, the classes of size, and the standard pot in which ratios
are restated as minutes.

Volumes in ml (= cm³), inside lengths in cm, areas in cm². Numbers or column expressions alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TypeVar

import polars as pl

Quantity = TypeVar("Quantity", float, pl.Expr)

POT_LEVELS: tuple[tuple[str, float], ...] = (
    ("under 0.5 l", 500.0),
    ("0.5 to 1 l", 1000.0),
    ("1 to 2 l", 2000.0),
    ("2 to 5 l", 5000.0),
    ("5 l and over", float("inf")),
)
"""Bands of `query --by pot` and their upper ends in ml; a band holds its lower end, not its upper one."""

POT_SIZES: tuple[tuple[str, float], ...] = (
    ("under 0.75 l", 750.0),
    ("0.75 to 1.5 l", 1500.0),
    ("over 1.5 l", float("inf")),
)
"""The pages' three sizes and their upper ends in ml, drawn around the standard pot of 1 l; 1.5 l is in the middle one."""


def truncated_cone_ml(top_cm: Quantity, base_cm: Quantity, depth_cm: Quantity) -> Quantity:
    """Volume V = π H/12 (D² + D d + d²) of a round tapered pot, D at the fill line; null where a length is."""
    return pi * depth_cm / 12 * (top_cm**2 + top_cm * base_cm + base_cm**2)


def area_of_volume_cm2(volume_ml: Quantity) -> Quantity:
    """`V^(2/3)`: the area of a pot whose widths are unknown, within 15 % for pots of 5 to 30 cm."""
    area: Quantity = volume_ml ** (2.0 / 3.0)
    return area


def mix_area_cm2() -> pl.Expr:
    """Area of mix that the water of a run passes, cm².

    Both inside widths known, D at the fill line and d at the base: `π/4 · D · d`, the constant area whose
    resistance to flow equals that of the tapered pot (the integral of dz / A(z) over a truncated cone of
    depth L is L / (π/4 · D · d)). Else `V^(2/3)`.
    """
    tapered = pi / 4.0 * pl.col("pot_top_diameter_cm") * pl.col("pot_base_diameter_cm")
    return tapered.fill_null(area_of_volume_cm2(pl.col("pot_volume_ml")))


def pot_level(volume_ml: pl.Expr) -> pl.Expr:
    """The band of POT_LEVELS that a volume lies in."""
    level = pl.lit(POT_LEVELS[-1][0])
    for name, upper_end in reversed(POT_LEVELS[:-1]):
        level = pl.when(volume_ml < upper_end).then(pl.lit(name)).otherwise(level)
    return level


def pot_size(volume_ml: pl.Expr) -> pl.Expr:
    """The size of POT_SIZES that a volume lies in."""
    (small, below), (middle, up_to), (large, _) = POT_SIZES
    return (
        pl.when(volume_ml < below)
        .then(pl.lit(small))
        .when(volume_ml <= up_to)
        .then(pl.lit(middle))
        .otherwise(pl.lit(large))
    )


@dataclass(frozen=True)
class StandardPot:
    """The standard pot of the pool's settings and what straight base takes in it."""

    volume_l: float
    collected_ml: float
    straight_minutes: float | None
    members: int

    @property
    def area_cm2(self) -> float:
        """Cross-section taken for the standard pot: volume to the power 2/3, within 15 % for pots of
        5 to 30 cm (domain note on front speed)."""
        return area_of_volume_cm2(self.volume_l * 1000.0)

    def minutes(self, ratio: float) -> float | None:
        """What a mix `ratio` times as fast as straight base takes, in minutes; None where straight base is not known."""
        return None if self.straight_minutes is None else self.straight_minutes / ratio


def straight_minutes(rate_ml_min_l: float, volume_l: float, collected_ml: float) -> float:
    """Minutes until `collected_ml` are out of a pot of `volume_l`: collected / (rate × volume)."""
    return collected_ml / (rate_ml_min_l * volume_l)

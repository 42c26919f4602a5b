"""The recipe card: what to measure for each mix, what to buy, what it weighs.

Volumes do not add: fines enter the gaps of the coarser part, so a mix has less volume than its parts. The loss is 5
to 20 % (from memory); MIXING_LOSS is taken, and a little more is mixed than the pots hold. Weights are rough, from
memory, for loose fills; they are there so that nobody lifts a wet tub without having thought about it.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from schemas.trade.parts import percent_of_parts

MIXING_LOSS = 0.15
SPARE = 0.05
NEAR_SHARE = 0.05
LARGEST_PART = 10
DRY_KG_PER_L = {"base": 0.15, "component": 0.12}
WET_KG_PER_L = 0.9
HEAVY_COMPONENT_KG_PER_L = {"silica_sand": 1.5, "pumice": 0.6, "fine_bark": 0.25, "vermiculite": 0.12}


@dataclass(frozen=True)
class MixLine:
    """One mix: share in percent, parts (base first), loose litres of base and component to measure, wet kg in all."""

    share: float
    parts: str | None
    pots: int
    base_l: float
    component_l: float
    wet_kg: float


@dataclass(frozen=True)
class Recipe:
    """Every mix, and what to buy in all: loose litres and dry kilograms of base and component."""

    mixes: tuple[MixLine, ...]
    base_l: float
    component_l: float
    dry_kg: float
    wet_kg: float


def recipe(fillings: dict[float, int], pot_volume_l: float, component: str | None) -> Recipe:
    """The recipe for so many fillings of each share, pots of that volume."""
    mixes = tuple(_mix(share, pots, pot_volume_l) for share, pots in sorted(fillings.items()))
    base_l = sum(mix.base_l for mix in mixes)
    component_l = sum(mix.component_l for mix in mixes)
    component_kg = HEAVY_COMPONENT_KG_PER_L.get(component or "", DRY_KG_PER_L["component"])
    return Recipe(
        mixes,
        base_l,
        component_l,
        base_l * DRY_KG_PER_L["base"] + component_l * component_kg,
        sum(mix.wet_kg for mix in mixes),
    )


def simple_parts(share: float) -> str | None:
    """Parts by volume, base first, of whole numbers up to 10 that give this share to a twentieth of a point: `3:2`."""
    for total in range(1, 2 * LARGEST_PART + 1):
        for component in range(min(total, LARGEST_PART) + 1):
            base = total - component
            if base > LARGEST_PART:
                continue
            if abs(float(percent_of_parts(Fraction(base), Fraction(component))) - share) <= NEAR_SHARE:
                return f"{base}:{component}"
    return None


def _mix(share: float, pots: int, pot_volume_l: float) -> MixLine:
    filled_l = pots * pot_volume_l
    loss = MIXING_LOSS if 0 < share < 100 else 0.0
    loose_l = filled_l * (1 + SPARE) / (1 - loss)
    return MixLine(
        share,
        simple_parts(share),
        pots,
        loose_l * (1 - share / 100),
        loose_l * share / 100,
        filled_l * WET_KG_PER_L,
    )

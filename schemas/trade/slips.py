"""Wrong entries and the exact factor that each puts into a rate: what was mixed up, and how to mend it.

Common practice: from the trade's list of how entries go wrong; cups by their legal volumes (`schemas.units`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

CLOCK, VOLUME, DECIMAL, POT, COUNT, CUP = "clock", "volume", "decimal", "pot", "count", "cup"
US_CUP_ML, IMPERIAL_CUP_ML, METRIC_CUP_ML = 236.5882365, 284.130625, 250.0


@dataclass(frozen=True)
class Slip:
    """One way to type a wrong number. factor: over 1, what it does to a rate; kind: what was mistaken; name: in words.

    too_fast, too_slow: the remedy as the end of "It would be usual if …", for rates too high and too low; empty where
    a receipt names none.
    """

    factor: float
    kind: str
    name: str
    too_fast: str = ""
    too_slow: str = ""

    @property
    def times(self) -> str:
        """`60 times (minutes for seconds)`."""
        return f"{self.factor:.4g} times ({self.name})" if self.name else f"{self.factor:.4g} times"


_ZERO = "one number were 10 times off: is there a zero too few or too many?"
_DECIMAL = "one number were 100 times off: is a decimal mark lost?"

MILLILITRES_FOR_LITRES = Slip(
    1000.0,
    VOLUME,
    "millilitres for litres",
    "collected were 1000 times smaller: were ml typed as l?",
    "collected were 1000 times larger: were l typed as ml?",
)
ONE_ZERO = Slip(10.0, DECIMAL, "", _ZERO, _ZERO)
RADIUS_FOR_DIAMETER = Slip(4.0, POT, "radius for diameter")

SLIPS: tuple[Slip, ...] = (
    Slip(
        60.0,
        CLOCK,
        "minutes for seconds",
        "the time were 60 times longer: were minutes typed as seconds?",
        "the time were 60 times shorter: was m:ss read as hours and minutes?",
    ),
    MILLILITRES_FOR_LITRES,
    ONE_ZERO,
    Slip(100.0, DECIMAL, "", _DECIMAL, _DECIMAL),
    Slip(3600.0, CLOCK, "hours for seconds"),
    Slip(2.0, COUNT, ""),
    Slip(3.785, VOLUME, "litres for US gallons"),
    RADIUS_FOR_DIAMETER,
    Slip(IMPERIAL_CUP_ML / US_CUP_ML, CUP, "another country's cup"),
    Slip(METRIC_CUP_ML / US_CUP_ML, CUP, "another country's cup"),
)
"""All slips, the likeliest first."""


EXACT_SLIPS: tuple[Slip, ...] = tuple(slip for slip in SLIPS if slip.factor in (10, 60, 100, 1000, 3600))
"""Those that make a run wait (contract, section 1, "Waiting"), the likeliest first."""


def slips_of(*kinds: str) -> tuple[Slip, ...]:
    """The slips of these kinds, rising by factor."""
    return tuple(sorted((slip for slip in SLIPS if slip.kind in kinds), key=lambda slip: slip.factor))


def nearest_slip(distance: float, within: float, slips: Iterable[Slip] = SLIPS) -> Slip | None:
    """The slip that explains a distance between two rates on the ln scale, `within` on that scale; the nearest where
    several would, None where none does."""
    gap, _, slip = min(
        (abs(abs(distance) - math.log(slip.factor)), place, slip) for place, slip in enumerate(slips)
    )
    return slip if gap <= within else None

"""The pool's standard pot: ratios restated as minutes."""

from __future__ import annotations

from dataclasses import dataclass

from schemas.trade.pots import area_of_volume_cm2


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

"""The order of the pots: blocks that hold every mix once, drawn anew in each, the baseline spread through all."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random


@dataclass(frozen=True)
class PlannedPour:
    """One line of the plan. run_order counts from 1; share in percent, 0 the baseline; pour_no 1 is freshly filled."""

    run_order: int
    share: float
    pot_no: int
    pour_no: int


def planned_pours(
    shares: tuple[float, ...], pots: int, baseline_pots: int, pours: int, seed: int
) -> tuple[PlannedPour, ...]:
    """Every pour in order: first all fresh pots in blocks, then the second pours in the same order.

    Water that warms up and hands that get quicker then touch every mix alike. Pots of the baseline beyond one a
    block are dealt out evenly over the blocks. The same arguments give the same order.
    """
    draw = Random(seed)  # noqa: S311 - a test's order, no secret
    blocks = [list(shares) for _ in range(pots)]
    for pot in range(baseline_pots):
        blocks[pot * pots // baseline_pots].append(0.0)
    for block in blocks:
        draw.shuffle(block)
    fresh = _numbered([share for block in blocks for share in block])
    places = [(share, pot, pour) for pour in range(1, pours + 1) for share, pot in fresh]
    return tuple(PlannedPour(number, share, pot, pour) for number, (share, pot, pour) in enumerate(places, 1))


def _numbered(shares: list[float]) -> list[tuple[float, int]]:
    """(share, pot) in order, the pots of each share counted as they come."""
    return [(share, shares[: place + 1].count(share)) for place, share in enumerate(shares)]

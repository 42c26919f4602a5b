"""A test's plan, in order: which shares, how many pots, in which order, what to mix. Read this room first.

Values in, values out; what the pool knows comes as `Known`, what the member wants as `Wish`.
"""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.errors import WrongUseError
from pipeline.plan.order import PlannedPour, planned_pours
from pipeline.plan.power import MOST_POTS, Layout, chance_seen, layout, pots_needed, smallest_ratio_seen
from pipeline.plan.recipe import Recipe, recipe
from pipeline.plan.wanted import Gain, KnownShare, most_wanted

USUAL_POTS = 3
"""Pots a mix where nothing else is asked: two leave one degree of freedom a mix, three stand a spoilt pot."""
POURS = 2
"""Fresh pots and second pours have an answer each; the second pour costs no further pot."""
MOST_SHARES = 8
NEW_POOL_SHARES = (25.0, 40.0, 50.0)
"""What a first test measures where a pool knows nothing yet: below, at and above the reference share."""
USUAL_CHANCE = 0.8


@dataclass(frozen=True)
class Wish:
    """What was asked for. shares: percent, without 0, empty for the most wanted; pots a mix, or the chance to see a
    ratio; pot_volume_l as filled; component for the weights; seed of the order."""

    shares: tuple[float, ...]
    pots: int | None
    chance: float | None
    ratio: float
    pot_volume_l: float
    component: str | None
    seed: int


@dataclass(frozen=True)
class Known:
    """What the pool knows. pot_sd: scatter of ln rates between fillings; measured: by the pool itself, not assumed."""

    pot_sd: float
    measured: bool
    shares: tuple[KnownShare, ...]


@dataclass(frozen=True)
class Plan:
    """The plan: shares rising without 0, pots, order, recipe, the chance to see `ratio`, the smallest ratio seen in 4
    of 5 such series, and what one more series would do at each share known (most wanted first)."""

    wish: Wish
    known: Known
    shares: tuple[float, ...]
    layout: Layout
    pours: tuple[PlannedPour, ...]
    recipe: Recipe
    chance: float
    smallest_ratio: float | None
    gains: tuple[Gain, ...]
    chosen_by_pool: bool


def plan_test(wish: Wish, known: Known) -> Plan:
    """The plan of one series. Raises WrongUseError, worded, for wishes that no bench can carry out."""
    gains = most_wanted(known.shares, wish.pots or USUAL_POTS, 1, known.pot_sd)
    shares = _shares(wish, gains)
    given = _layout(wish, known, len(shares))
    fillings = {0.0: given.baseline_pots, **dict.fromkeys(shares, given.pots)}
    return Plan(
        wish,
        known,
        shares,
        given,
        planned_pours(shares, given.pots, given.baseline_pots, POURS, wish.seed),
        recipe(fillings, wish.pot_volume_l, wish.component),
        chance_seen(given, wish.ratio, known.pot_sd),
        smallest_ratio_seen(given, USUAL_CHANCE, known.pot_sd),
        gains,
        not wish.shares,
    )


def _shares(wish: Wish, gains: tuple[Gain, ...]) -> tuple[float, ...]:
    """The shares of the plan, rising; those asked for, else the pool's two most wanted, else a first test's."""
    if not wish.shares:
        return tuple(sorted(gain.share for gain in gains[:2])) or NEW_POOL_SHARES
    shares = tuple(sorted({share for share in wish.shares if share > 0}))
    if not shares:
        raise WrongUseError(
            "--shares: name a share above 0, such as 40; straight base is in every plan anyway."
        )
    if shares[-1] > 100:
        raise WrongUseError(
            f"--shares: {shares[-1]:g} % is more than the whole pot. Write shares from 1 to 100."
        )
    if shares[-1] == 100:
        raise WrongUseError(
            "--shares: 100 % is the component alone: no mix, nothing wicks. Plan a share below 100, such as 80."
        )
    if len(shares) > MOST_SHARES:
        raise WrongUseError(
            f"--shares: {len(shares)} shares are more than one test day holds. Name {MOST_SHARES} at most."
        )
    return shares


def _layout(wish: Wish, known: Known, mixes: int) -> Layout:
    if wish.chance is None:
        pots = USUAL_POTS if wish.pots is None else wish.pots
        if not 1 <= pots <= MOST_POTS:
            raise WrongUseError(
                f"--pots: {pots} pots a mix can't be planned. Write a number from 1 to {MOST_POTS}."
            )
        if layout(pots, mixes).degrees_of_freedom < 1:
            raise WrongUseError(
                "--pots: with one pot a mix nothing tells a slow mix from a slow pot. Take 2 or more; refilling one pot "
                "counts as another."
            )
        return layout(pots, mixes)
    if not 0.5 <= wish.chance <= 0.99:
        raise WrongUseError("--chance: write a chance from 0.5 to 0.99, such as 0.8 for 4 of 5.")
    if wish.ratio <= 1:
        raise WrongUseError(
            "--ratio: write how many times as fast the test shall be able to see, such as 1.25."
        )
    needed = pots_needed(mixes, wish.chance, wish.ratio, known.pot_sd)
    if needed is None:
        raise WrongUseError(
            f"--ratio: {wish.ratio:g} times is too small to be seen with {MOST_POTS} pots a mix. "
            "Ask for a larger ratio; many growers' series together see what one can't."
        )
    return needed

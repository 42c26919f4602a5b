"""One verdict per share, and the recommendation that follows from all of them.

Rules: the project's contract, section 3, and methods note, section 7.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.model.prediction import NEEDED_AT_SHARE, NEEDED_IN_FIT, NEEDED_WHERE_SPARSE
from pipeline.compare.posterior.claims import Smallest, smallest_enough
from pipeline.compare.verdict.parts import parts_for
from schemas.trade.verdicts import CLEARS, ENOUGH, FALLS_SHORT, HINGES_ON_ONE, NOT_REACHED, TOO_FEW, UNDECIDED


@dataclass(frozen=True)
class Evidence:
    """Per share: p_clears in the fit, whether the refits allow `clears`, how many independent units stand behind it.

    by_growers: every refit without a member, club or lot clears; by_others: so do those without difference-only
    series and, where it was assumed, with half the repeatability. forbidden: stopped runs forbid any `clears`.
    """

    p_clears: Floats
    by_growers: Flags
    by_others: Flags
    units: Whole
    units_in_fit: int
    forbidden: bool


@dataclass(frozen=True)
class Advice:
    """A recommendation's verdict with its share in percent and parts, None but for `enough`; passed_over: larger shares
    that stayed undecided beside a better measured one and did not block it."""

    verdict: str
    share: float | None
    parts: str | None
    passed_over: tuple[float, ...] = ()


def supported(evidence: Evidence) -> Flags:
    """Shares with enough growers for any verdict but `too_few`."""
    if evidence.units_in_fit < NEEDED_IN_FIT:
        return np.zeros(len(evidence.units), dtype=bool)
    return evidence.units >= NEEDED_AT_SHARE


def _clearing(evidence: Evidence, assurance: float) -> Flags:
    """Shares that clear but for the refits without growers."""
    if evidence.forbidden:
        return np.zeros(len(evidence.units), dtype=bool)
    sparse = evidence.units < evidence.units_in_fit / 2.0
    many = np.where(sparse, evidence.units >= NEEDED_WHERE_SPARSE, True)
    with np.errstate(invalid="ignore"):
        return supported(evidence) & many & (evidence.p_clears >= assurance) & evidence.by_others


def _short(evidence: Evidence, assurance: float) -> Flags:
    """Shares that fall short."""
    with np.errstate(invalid="ignore"):
        return np.asarray((evidence.p_clears <= 1.0 - assurance) & (not evidence.forbidden))


def share_verdicts(evidence: Evidence, assurance: float) -> list[str]:
    """The verdict of each share."""
    good = supported(evidence)
    clears = _clearing(evidence, assurance) & evidence.by_growers
    short = _short(evidence, assurance)
    return [
        TOO_FEW if not good[j] else CLEARS if clears[j] else FALLS_SHORT if short[j] else UNDECIDED
        for j in range(len(good))
    ]


def advise(shares: Floats, evidence: Evidence, assurance: float) -> Advice:
    """The recommendation from these verdicts alone: one state, no look at grades."""
    good = supported(evidence)
    if not good.any():
        return Advice(TOO_FEW, None, None)
    by_headline = _clearing(evidence, assurance)
    clearing = clearing_run(shares, evidence, assurance)
    if clearing:
        passed_over = _smallest(shares, evidence, assurance, by_headline & evidence.by_growers).passed_over
        return replace(enough_from(clearing), passed_over=passed_over)
    if _smallest(shares, evidence, assurance, by_headline).share is not None:
        return Advice(HINGES_ON_ONE, None, None)
    return Advice(NOT_REACHED, None, None)


def enough_from(clearing: Sequence[float]) -> Advice:
    """`enough` at the smallest of these shares, which all clear, rising."""
    return Advice(ENOUGH, float(clearing[0]), parts_for(clearing[0], clearing))


def _smallest(shares: Floats, evidence: Evidence, assurance: float, clears: Flags) -> Smallest:
    """The smallest share that is enough where these clear, and undecided ones beside a better measured one that it
    passed over."""
    undecided = ~clears & ~_short(evidence, assurance)
    return smallest_enough(shares, clears, undecided, supported(evidence), evidence.units)


def clearing_run(shares: Floats, evidence: Evidence, assurance: float) -> list[float]:
    """The supported shares that clear, rising from the one that is enough; empty where there is no `enough`."""
    clears = _clearing(evidence, assurance) & evidence.by_growers
    enough = _smallest(shares, evidence, assurance, clears).share
    if enough is None:
        return []
    return [float(share) for share in shares[clears & (shares >= enough)]]


def larger_of(
    fresh: Advice, settled: Advice, fresh_run: Sequence[float], settled_run: Sequence[float]
) -> Advice:
    """Fresh and settled together: the larger share; `not_reached` where the settled one is; else the fresh one.

    In the combined answer parts are looked for among shares that clear in both states, where there are such.
    """
    if fresh.verdict != ENOUGH:
        return fresh
    if settled.verdict == NOT_REACHED:
        return settled
    if settled.verdict != ENOUGH or fresh.share is None or settled.share is None:
        return fresh
    share = max(fresh.share, settled.share)
    own = fresh_run if fresh.share >= settled.share else settled_run
    both = sorted(set(fresh_run) & set(settled_run) & {cleared for cleared in own if cleared >= share})
    clearing = both if both and both[0] == share else [cleared for cleared in own if cleared >= share]
    passed_over = sorted({*fresh.passed_over, *settled.passed_over})
    return Advice(ENOUGH, share, parts_for(share, clearing), tuple(one for one in passed_over if one > share))

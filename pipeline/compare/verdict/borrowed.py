"""The answer of a part of the pool that borrows from the whole: chances, verdicts, advice. Arrays in, values out.

Rule: a part's `clears` is the borrowed chance reaching the assurance where the whole pool's refits allow a `clears`. Only
where a difference is shown does the part stand on its own, and then without any one of its growers, clubs or lots.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pipeline.compare.arrays import Whole
from pipeline.compare.model.prediction import NEEDED_FOR_MEAN, sparse_variance
from pipeline.compare.posterior.borrowing import Asked, LevelAnswer, borrow
from pipeline.compare.verdict.answer import Answer, Fitted, Numbers
from pipeline.compare.verdict.chances import LEAST_REFERENCE, SpreadChances
from pipeline.compare.verdict.verdicts import (
    Advice,
    Evidence,
    advise,
    clearing_run,
    share_verdicts,
    supported,
)
from schemas.trade.verdicts import SHOWN


@dataclass(frozen=True)
class BorrowedPart:
    """One part of the pool in one pour state. level: what borrowing says of it; None where the whole pool's answer stands
    for it, and `why` says why no difference is looked at. members: independent growers in the part with a contrast to
    their own baseline; rest: those outside it; evidence, verdicts, advice, run: as of an `Answer`."""

    level: LevelAnswer | None
    members: int
    rest: int
    evidence: Evidence
    verdicts: tuple[str, ...]
    advice: Advice
    run: tuple[float, ...]
    why: str

    @property
    def shown(self) -> bool:
        """Whether a difference between this part and the rest is shown."""
        return self.level is not None and self.level.word == SHOWN


def borrowed_parts(
    whole: Answer, level: Whole, count: int, numbers: Numbers
) -> tuple[BorrowedPart, ...] | None:
    """The parts 0 … count - 1 of a fitted answer; `level` is the part of each of its effects, -1 for none. None where
    the whole has no model, so that there is nothing to borrow from."""
    fitted = whole.fitted
    if fitted is None:
        return None
    growers = [_growers(whole, level == part) for part in range(count)]
    everyone = _growers(whole, np.ones(len(level), dtype=bool))
    kept = [part for part in range(count) if len(growers[part]) >= NEEDED_FOR_MEAN]
    answers = _answers(fitted, whole, np.where(np.isin(level, kept), level, -1), numbers)
    parts = []
    for part in range(count):
        rest = len(everyone - growers[part])
        why = _why_not(fitted, len(growers[part]), rest)
        answer = None if why else answers[part]
        parts.append(_part(whole, fitted, answer, (len(growers[part]), rest), why, numbers.assurance))
    return tuple(parts)


def _growers(whole: Answer, rows: np.ndarray) -> set[int]:
    """Independent growers with a contrast to their own baseline among these effects."""
    groups = whole.independence.group if whole.independence else {}
    members = whole.effects.member[rows & whole.effects.based]
    return {groups.get(int(member), int(member)) for member in members}


def _why_not(fitted: Fitted, members: int, rest: int) -> str:
    if members < NEEDED_FOR_MEAN:
        return f"Fewer than {NEEDED_FOR_MEAN} growers in this part."
    if not isinstance(fitted.chances, SpreadChances):
        return "Clocks were stopped: parts are not told apart, and the whole pool's answer stands."
    if rest < NEEDED_FOR_MEAN:
        return f"Fewer than {NEEDED_FOR_MEAN} growers outside this part to set it beside."
    return ""


def _answers(fitted: Fitted, whole: Answer, level: Whole, numbers: Numbers) -> dict[int, LevelAnswer]:
    """What borrowing says of each level that has effects."""
    if not isinstance(fitted.chances, SpreadChances) or not np.any(level >= 0):
        return {}
    estimated = fitted.estimate
    sets = () if whole.independence is None else tuple(chosen for _, chosen in whole.independence.left_out)
    asked = Asked(
        target_ratio=numbers.target_ratio,
        reference_share=max(abs(numbers.reference_share), LEAST_REFERENCE),
        pot_variance=whole.repeatability.sd**2,
        counted=np.asarray(supported(fitted.evidence)),
        least_variance=sparse_variance(estimated),
        left_out=sets,
    )
    borrowed = borrow(estimated.design, fitted.chances.companion.posterior, level, asked)
    return {answer.level: answer for answer in borrowed.levels}


def _part(
    whole: Answer,
    fitted: Fitted,
    level: LevelAnswer | None,
    growers: tuple[int, int],
    why: str,
    assurance: float,
) -> BorrowedPart:
    evidence = fitted.evidence if level is None else part_evidence(fitted.evidence, level, assurance)
    shares = fitted.estimate.design.shares
    return BorrowedPart(
        level=level,
        members=growers[0],
        rest=growers[1],
        evidence=evidence,
        verdicts=tuple(share_verdicts(evidence, assurance)),
        advice=whole.advice if level is None else advise(shares, evidence, assurance),
        run=whole.run if level is None else tuple(clearing_run(shares, evidence, assurance)),
        why=why,
    )


def part_evidence(whole: Evidence, level: LevelAnswer, assurance: float) -> Evidence:
    """The whole pool's evidence with the part's own chances; a shown difference stands on the part's own refits."""
    own = replace(whole, p_clears=level.p_clears)
    if level.p_clears_without is None:
        return own
    everywhere = np.ones(len(whole.by_others), dtype=bool)
    return replace(own, by_growers=level.p_clears_without >= assurance, by_others=everywhere)

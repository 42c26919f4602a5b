"""Parts of the pool as values: the answer that borrows from the whole, whether a difference is shown, and what a part
says alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.compare.model.prediction import NEEDED_AT_SHARE, NEEDED_FOR_MEAN
from pipeline.compare.posterior.borrowing import LevelAnswer
from pipeline.compare.values.advised import advice_value, settled_sentence
from pipeline.compare.values.chance_lines import interval, number
from pipeline.compare.values.parts import PartStates
from pipeline.compare.values.share_values import (
    figures_at,
    heterogeneity_value,
    no_figures,
    refits_value,
    repeatability_value,
)
from pipeline.compare.values.states import States
from pipeline.compare.verdict.answer import Answer, Numbers
from pipeline.compare.verdict.borrowed import BorrowedPart
from pipeline.compare.verdict.part_text import PartAdvice, PartSubject, part_text
from pipeline.compare.verdict.verdicts import Advice
from schemas.results.component import (
    AnswerValue,
    DifferenceValue,
    PartAnswerValue,
    ShareFigures,
    ShareValue,
    StateValue,
)
from schemas.trade.verdicts import CANNOT_TELL, ENOUGH, NOT_REACHED, TOO_FEW

BORROWS = "Borrows from the whole pool; what the part says by itself stands under alone."


@dataclass(frozen=True)
class Beside:
    """What a part's value is made beside: the whole pool's answers and advice, and the part by itself with its value."""

    whole: States
    whole_advice: Advice
    alone: States
    alone_value: AnswerValue
    alone_advice: Advice


def part_value(part: PartStates, beside: Beside, subject: PartSubject, numbers: Numbers) -> PartAnswerValue:
    """A part as it stands in `results.json` and in answers of `query`."""
    both, few = part.both, Advice(TOO_FEW, None, None)
    fresh = few if part.fresh is None else part.fresh.advice
    settled = few if part.settled is None else part.settled.advice
    lasts = settled_sentence(both, fresh, settled)
    text = part_text(subject, part.fresh, PartAdvice(both, beside.whole_advice, beside.alone_advice), lasts)
    if numbers.against:
        both = settled = Advice(NOT_REACHED, None, None)
        text = beside.alone_value["recommendation"]["text"]
    decided = settled.verdict == ENOUGH and both.share == settled.share
    state = "settled" if decided else "fresh"
    alone_settled = beside.alone_value["settled"]
    value: PartAnswerValue = {
        **_state(beside.whole.fresh, part.fresh, beside.alone_value, numbers),
        "scope": beside.whole.fresh.scope,
        "settled": {
            **_state(beside.whole.settled, part.settled, alone_settled, numbers),
            "pour": alone_settled["pour"],
        },
        "difference": difference_value(part.fresh),
        "share": both.share,
        "verdict": both.verdict,
        "alone": beside.alone_value,
        "why": text if both.share is None else None,
    }
    rows = value["settled"]["shares"] if decided else value["shares"]
    behind = beside.alone.settled if decided else beside.alone.fresh
    value["recommendation"] = advice_value(both, text, behind, state, _figures_of(rows, both.share))
    value["settled"]["recommendation"] = advice_value(
        settled,
        text,
        beside.alone.settled,
        "settled",
        _figures_of(value["settled"]["shares"], settled.share),
    )
    return value


def difference_value(part: BorrowedPart | None) -> DifferenceValue:
    """Whether a difference between a part and the rest of the pool is shown, at the reference share."""
    if part is None:
        why = "The whole pool has too few growers for a comparison."
        return {"ratio": None, "ci": None, "word": CANNOT_TELL, "why": why}
    if part.level is None:
        return {"ratio": None, "ci": None, "word": CANNOT_TELL, "why": part.why}
    level = part.level
    return {
        "ratio": float(np.exp(level.difference)),
        "ci": interval(level.difference_low, level.difference_high),
        "word": level.word,
    }


def _state(whole: Answer, part: BorrowedPart | None, alone: StateValue, numbers: Numbers) -> StateValue:
    """One pour state: rows of the part with figures that borrow, the whole pool's spreads."""
    rows = [_row(row, whole, part, numbers.against) for row in alone["shares"]]
    return {
        "shares": rows,
        "heterogeneity": heterogeneity_value(whole),
        "repeatability": repeatability_value(whole),
        "refits": refits_value(whole),
        "recommendation": alone["recommendation"],
    }


def _row(row: ShareValue, whole: Answer, part: BorrowedPart | None, against: float) -> ShareValue:
    """A part's share: its own counts, with figures that borrow from 3 of its growers on and a verdict from 4."""
    if (
        part is None
        or part.members < NEEDED_FOR_MEAN
        or row["members"] < NEEDED_FOR_MEAN
        or whole.fitted is None
    ):
        why = row["why"] or f"Fewer than {NEEDED_FOR_MEAN} growers of this part."
        return {**row, **no_figures(), "verdict": TOO_FEW, "why": why}
    shares = whole.fitted.estimate.design.shares
    column = int(np.argmin(np.abs(shares - (row["share"] - against))))
    if abs(shares[column] - (row["share"] - against)) > 1e-6:
        return {**row, **no_figures(), "verdict": TOO_FEW, "why": "The whole pool has no mean at this share."}
    verdict = part.verdicts[column] if row["members"] >= NEEDED_AT_SHARE else TOO_FEW
    few = (
        ""
        if row["members"] >= NEEDED_AT_SHARE
        else f" A verdict needs {NEEDED_AT_SHARE} growers of this part."
    )
    if part.level is None:
        return {**row, **figures_at(whole, float(shares[column])), "verdict": verdict, "why": part.why + few}
    return {**row, **_figures(part.level, column), "verdict": verdict, "why": BORROWS + few}


def _figures(level: LevelAnswer, column: int) -> ShareFigures:
    """What a part says at one share with the whole pool behind it."""
    return {
        **no_figures(),
        "ratio": number(np.exp(level.mean[column])),
        "ci": interval(level.low[column], level.high[column]),
        "new_series": interval(level.new_low[column], level.new_high[column]),
        "p_faster": number(level.p_faster[column]),
        "p_clears": number(level.p_clears[column]),
        "p_faster_pot": number(level.p_faster_pot[column]),
        "p_clears_pot": number(level.p_clears_pot[column]),
        "p_all": number(level.p_all[column]),
    }


def _figures_of(rows: Sequence[ShareValue], share: float | None) -> ShareFigures:
    """The figures of a share's row; none where the part's growers did not measure it."""
    return next((row for row in rows if row["share"] == share), no_figures())

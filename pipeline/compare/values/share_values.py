"""An answer as the plain values of `results.json`: numbers or None, never NaN, a sentence wherever one is missing."""

from __future__ import annotations

import numpy as np

from pipeline.compare.model.estimate import members_at
from pipeline.compare.model.prediction import NEEDED_FOR_MEAN
from pipeline.compare.values.chance_lines import club_lines, interval, number, plain_chances, stopped_clocks
from pipeline.compare.verdict.answer import Answer, Fitted, stopped_sentence
from pipeline.compare.verdict.chances import SpreadChances
from pipeline.compare.wording import MORE_ALIKE_THAN_POTS
from schemas.results.component import (
    HeterogeneityValue,
    RefitsValue,
    RepeatabilityValue,
    ShareCounts,
    ShareFigures,
    ShareValue,
)
from schemas.results.keys import ONE_STEP
from schemas.trade.verdicts import TOO_FEW

RE_ESTIMATED, HELD_FIXED = "re-estimated", "held fixed"


def _degrees(value: float) -> float | None:
    """Degrees of freedom, None where no t distribution has them."""
    return float(value) if value >= 1.0 else None


def shares_value(given: Answer, ran_dry: dict[float, int], against: float = 0.0) -> list[ShareValue]:
    """One entry per share measured, rising, without 0; `ran_dry`: runs at a share that ended before half was
    out. Shares are counted from `against`, the mix that stands in the baseline's place."""
    measured = np.unique(given.cells.merged[given.cells.merged != 0])
    extra = np.array([share for share in ran_dry if share != 0], dtype=np.float64)
    return [
        _share_value(given, float(share), ran_dry.get(float(share), 0), round(float(share) + against, 6))
        for share in np.union1d(measured, extra)
    ]


def _share_value(given: Answer, share: float, ran_dry: int, shown_share: float) -> ShareValue:
    """One share's entry, shown under `shown_share`."""
    counts, figures, verdict = _counts(given, share), no_figures(), TOO_FEW
    why: str | None
    fitted = given.fitted
    if fitted is None or share not in fitted.estimate.design.shares:
        why = given.why or "No timed test at this share can be set beside a baseline of its own series."
    else:
        column = int(np.searchsorted(fitted.estimate.design.shares, share))
        members = int(members_at(fitted.estimate.design)[column])
        if members < NEEDED_FOR_MEAN:
            why = (
                f"Measured beside a baseline by {members} of the {NEEDED_FOR_MEAN} growers that a mean needs."
            )
        else:
            if given.by_censored:
                counts["members"] = int(fitted.estimate.units[column])
            figures, verdict = _figures(given, fitted, column), fitted.verdicts[column]
            why = _why(given, figures, verdict)
    return {**counts, **figures, "share": shown_share, "ran_dry": ran_dry, "verdict": verdict, "why": why}


def figures_at(given: Answer, share: float) -> ShareFigures:
    """What the model says at a share; None throughout where it says nothing."""
    fitted = given.fitted
    if fitted is None or share not in fitted.estimate.design.shares:
        return no_figures()
    column = int(np.searchsorted(fitted.estimate.design.shares, share))
    few = int(members_at(fitted.estimate.design)[column]) < NEEDED_FOR_MEAN
    return no_figures() if few else _figures(given, fitted, column)


def _figures(given: Answer, fitted: Fitted, column: int) -> ShareFigures:
    prediction, stated = fitted.prediction, fitted.stated
    figures: ShareFigures = {
        "ratio": number(np.exp(fitted.estimate.mean[column])),
        "df": _degrees(prediction.new_series.degrees[column]),
        "ci": interval(prediction.low[column], prediction.high[column]),
        "new_series": interval(stated.new_low[column], stated.new_high[column]),
        "p_faster": number(stated.p_faster[column]),
        "p_clears": number(stated.p_clears[column]),
        "p_faster_pot": number(stated.p_faster_pot[column]),
        "p_clears_pot": number(stated.p_clears_pot[column]),
        "p_all": number(stated.p_all[column]),
        "reml": plain_chances(given.plain_prediction, column),
        "clubs": club_lines(given, fitted, column),
    }
    readings = stopped_clocks(fitted, given.target_ratio, column)
    if readings is not None:
        figures["stopped_clocks"] = readings
    return figures


def no_figures() -> ShareFigures:
    """Nothing said at a share."""
    return {
        "ratio": None,
        "df": None,
        "ci": None,
        "new_series": None,
        "p_faster": None,
        "p_clears": None,
        "p_faster_pot": None,
        "p_clears_pot": None,
        "p_all": None,
        "reml": None,
        "clubs": [],
    }


def _why(given: Answer, figures: ShareFigures, verdict: str) -> str | None:
    """A sentence where a figure is missing or stopped runs forbid a verdict, else None."""
    apart = ("p_all", "reml")
    missing = any(figure is None for name, figure in figures.items() if name not in apart)
    if missing and given.by_censored:
        return "Too many tests at this share were stopped before the water was out."
    if missing:
        return (
            "The growers at this share are too few, or too tied to one another, for the figures left empty."
        )
    if given.stopped_runs_forbid_clears and verdict != TOO_FEW:
        return stopped_sentence(given.cells)
    if verdict == TOO_FEW:
        return "A verdict needs 5 independent growers in all and 4 at the share."
    if given.by_censored:
        return "Clocks were stopped: the chance for all larger shares together is not worked out."
    return None


def _counts(given: Answer, share: float) -> ShareCounts:
    """Members (those who share rounds or lots once), series and pots with a contrast to their own baseline; growers
    by code; all pots tested and those stopped early."""
    effects = given.effects.chosen(given.effects.based & (given.effects.share == share))
    groups = given.independence.group if given.independence else {}
    cells = given.cells.chosen(given.cells.merged == share)
    return {
        "members": len({groups.get(int(member), int(member)) for member in effects.member}),
        "growers": len(np.unique(effects.member)),
        "series": len(np.unique(effects.series)),
        "pots": int(cells.pots.sum() + cells.stopped.sum()),
        "stopped": int(cells.stopped.sum()),
    }


def refits_value(given: Answer) -> RefitsValue:
    """How many refits without a grower, club or lot the verdicts lean on, and how their variances came about."""
    if given.fitted is None:
        return {"count": 0, "variances": None, "why": given.why}
    leave_one_out = given.fitted.leave_one_out
    if given.by_censored:
        how = ONE_STEP
    else:
        how = HELD_FIXED if leave_one_out.refits.refits.variances_held else RE_ESTIMATED
    return {"count": len(leave_one_out.members), "variances": how}


def heterogeneity_value(given: Answer) -> HeterogeneityValue:
    """Spread between growers and series at the reference share."""
    if given.fitted is None:
        return {
            "sd_member": None,
            "sd_series": None,
            "i2": None,
            "sd_member_median": None,
            "sd_series_median": None,
            "prior_scale": None,
            "alike": False,
            "why": given.why,
        }
    posterior, alike, sentences = _posterior(given.fitted)
    spread = given.fitted.heterogeneity
    value: HeterogeneityValue = {
        "sd_member": spread.sd_member,
        "sd_series": spread.sd_series,
        "i2": spread.i2,
        "sd_member_median": posterior[0],
        "sd_series_median": posterior[1],
        "prior_scale": posterior[2],
        "alike": alike,
    }
    sentences = [*given.fitted.estimate.design.notes, *sentences]
    if sentences:
        value["why"] = " ".join(sentences)
    return value


def _posterior(fitted: Fitted) -> tuple[tuple[float | None, float | None, float | None], bool, list[str]]:
    """(medians of both spreads and the prior's scale, whether numbers are too alike, sentences on what is missing)."""
    chances = fitted.chances
    if not isinstance(chances, SpreadChances):
        return (None, None, None), False, ["With stopped clocks spreads are the likelihood's own."]
    given = chances.companion
    sentences = [MORE_ALIKE_THAN_POTS] if given.alike else []
    if not chances.integrated:
        sentences.append("With 100 growers or more the estimate of the spread stands for itself.")
        return (None, None, None), given.alike, sentences
    return (given.sd_member, given.sd_series, given.scale), given.alike, sentences


def repeatability_value(given: Answer) -> RepeatabilityValue:
    """How closely pots repeat, and where the figure comes from."""
    pool = given.repeatability
    value: RepeatabilityValue = {
        "cv_pot": _variation(pool.sd**2),
        "cv_member": None,
        "sd_pot": pool.sd,
        "measured": pool.measured,
        "degrees": pool.degrees,
        "members": pool.members,
        "sd_small_shares": pool.small,
        "sd_large_shares": pool.large,
        "cochran": pool.cochran,
        "why": pool.why,
    }
    if given.fitted is not None:
        value["cv_member"] = _variation(given.fitted.heterogeneity.spread + 2.0 * pool.sd**2)
    else:
        value["why"] += " The spread between growers is not known: too few growers."
    return value


def _variation(variance: float) -> float | None:
    """Coefficient of variation of a log-normal value."""
    return float(np.sqrt(np.expm1(variance))) if variance < 50 else None

"""One line per other way to look: the ratio and p_clears at one share, and the share that would be enough."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Floats
from pipeline.compare.behind.curve_check import curve_new_series
from pipeline.compare.behind.heavy_tails import with_heavy_tails
from pipeline.compare.contrasts.cells import Cells
from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Independence, Ties, independence
from pipeline.compare.model.design import HEADLINE, WITHOUT_MEMBER, WITHOUT_SLOPE, Form
from pipeline.compare.model.prediction import NEEDED_AT_SHARE, NewSeries
from pipeline.compare.model.reml import Fit
from pipeline.compare.verdict.answer import SMALLEST_POT_VARIANCE, Answer, Fitted, Numbers, connected, weigh
from pipeline.compare.verdict.leave_one_out import based_only, refit
from pipeline.compare.verdict.verdicts import advise
from schemas.results.details import ChoiceLine, RobustnessLine, SensitivityValue
from schemas.trade.verdicts import ENOUGH

MOST_FOR_HEAVY_TAILS = 300
"""Sets left out up to which the check with heavy tails is made: it fits the pool a dozen times."""
TARGETS = (1.1, 1.25, 1.5, 2.0)
ASSURANCES = (0.7, 0.8, 0.9)


@dataclass(frozen=True)
class Other:
    """Another choice of runs to look at: what it is called, its cells and ties."""

    check: str
    words: str
    cells: Cells
    ties: Ties


def robustness_lines(
    given: Answer,
    numbers: Numbers,
    others: Sequence[Other],
    stated: float | None,
    stopped: Answer | None = None,
) -> list[RobustnessLine]:
    """Lines for a fitted answer, none without a model; `stated` is the recommended share, if any;
    `stopped`: the answer with stopped runs taken in, where they were too few to decide."""
    if given.fitted is None or given.independence is None:
        return []
    share = _stated_share(given.fitted, numbers, stated)
    lines = [
        _line(
            "headline",
            "freshly filled pots by the plain model, as in every line below",
            given.fitted.prediction.new_series,
            given.fitted,
            share,
            numbers,
        )
    ]
    lines.append(_worst(given.fitted, share, numbers))
    if given.plain is not None:
        words = "the plain model, stopped runs left out"
        lines.append(_line("stopped_left_out", words, given.plain, given.fitted, share, numbers))
    if stopped is not None and stopped.fitted is not None:
        words = "stopped runs taken in as bounds"
        lines.append(
            _line("censored", words, stopped.fitted.prediction.new_series, stopped.fitted, share, numbers)
        )
    for check, words, new_series, shares in _refits(given):
        lines.append(_read_line(check, words, new_series, shares, share, numbers))
    for other in others:
        lines.append(_other_line(other, given, share, numbers))
    return lines


def _stated_share(fitted: Fitted, numbers: Numbers, stated: float | None) -> float:
    """The recommended share, else the measured one nearest the reference share that has the most growers."""
    if stated is not None:
        return stated
    shares, units = fitted.estimate.design.shares, fitted.estimate.units
    good = units >= min(NEEDED_AT_SHARE, int(units.max()))
    return float(min(shares[good], key=lambda share: (abs(share - numbers.reference_share), share)))


def _refits(given: Answer) -> list[tuple[str, str, NewSeries | None, Floats]]:
    """(check, words, what it says of a new series, shares) of the other models and other variances on the same runs."""
    independent, effects, fitted = given.independence, given.effects, given.fitted
    if independent is None or fitted is None:
        return []
    shares = fitted.estimate.design.shares
    sd = given.repeatability.sd
    looks: list[tuple[str, str, NewSeries | None, Floats]] = []

    def add(check: str, words: str, chosen: Effects | None, form: Form = HEADLINE) -> None:
        new_series, own = (
            (None, shares) if chosen is None else refit_safely(chosen, independent, form, fitted.estimate.fit)
        )
        looks.append((check, words, new_series, own))

    add("without_slope", "growers differ by a constant factor only", effects, WITHOUT_SLOPE)
    looks.append(
        (
            "slope_only",
            "a smooth curve, growers differ by slopes",
            curve_new_series(effects, independent, shares),
            shares,
        )
    )
    add("half_repeatability", "pouring error half as large", connected(given.cells, 0.5 * sd))
    add(
        "double_repeatability",
        "pouring error twice as large",
        connected(given.cells, max(2.0 * sd, SMALLEST_POT_VARIANCE)),
    )
    add("without_member_level", "growers do not differ, only series do", effects, WITHOUT_MEMBER)
    only = based_only(effects)
    add("without_difference_only", "without series that lack a baseline", effects if only is None else only)
    if not fitted.estimate.design.offsets and len(fitted.leave_one_out.members) <= MOST_FOR_HEAVY_TAILS:
        words = "growers far from the rest counting less (heavy tails)"
        looks.append(("heavy_tails", words, with_heavy_tails(fitted.estimate)[0], shares))
    return looks


def refit_safely(
    effects: Effects, independent: Independence, form: Form = HEADLINE, near: Fit | None = None
) -> tuple[NewSeries | None, Floats]:
    """`refit`, None where the contrasts are too few for the model."""
    shares = np.unique(np.concatenate([effects.share, effects.reference[effects.reference != 0]]))
    if not np.any(effects.based) or len(effects) <= len(shares) + 1:
        return None, shares
    return refit(effects, independent, form, near)


def _worst(fitted: Fitted, share: float, numbers: Numbers) -> RobustnessLine:
    """The refit without one grower, club or lot that gives the lowest p_clears at the share."""
    words = "without the one grower, club or lot that matters most"
    new_series = fitted.leave_one_out.new_series
    if not len(new_series.mean):
        return _read_line("worst_without_one", words, None, fitted.estimate.design.shares, share, numbers)
    column = int(np.searchsorted(fitted.estimate.design.shares, share))
    p = np.where(
        np.isfinite(new_series.above(numbers.target_ratio)), new_series.above(numbers.target_ratio), 2.0
    )
    row = int(np.argmin(p[:, column]))
    offsets = None if new_series.offsets is None else new_series.offsets[row]
    worst = NewSeries(new_series.mean[row], new_series.deviation[row], new_series.degrees[row], offsets)
    return _read_line("worst_without_one", words, worst, fitted.estimate.design.shares, share, numbers)


def _other_line(other: Other, given: Answer, share: float, numbers: Numbers) -> RobustnessLine:
    effects = connected(other.cells, given.repeatability.sd)
    members = [int(member) for member in effects.member]
    if not members:
        return _read_line(other.check, other.words, None, np.zeros(0), share, numbers)
    fit = None if given.fitted is None else given.fitted.estimate.fit
    new_series, shares = refit_safely(effects, independence(members, other.ties), HEADLINE, fit)
    return _read_line(other.check, other.words, new_series, shares, share, numbers)


def _line(
    check: str, words: str, new_series: NewSeries, fitted: Fitted, share: float, numbers: Numbers
) -> RobustnessLine:
    return _read_line(check, words, new_series, fitted.estimate.design.shares, share, numbers)


def _read_line(
    check: str, words: str, new_series: NewSeries | None, shares: Floats, share: float, numbers: Numbers
) -> RobustnessLine:
    """One line as it stands in `results.json`."""
    line: RobustnessLine = {
        "check": check,
        "words": words,
        "share": share,
        "ratio": None,
        "p_clears": None,
        "enough": None,
    }
    if new_series is None or share not in shares:
        line["why"] = "Too few tests of this kind for a look of its own."
        return line
    column = int(np.searchsorted(shares, share))
    p = float(new_series.above(numbers.target_ratio)[column])
    line["ratio"] = float(np.exp(new_series.mean[column]))
    line["p_clears"] = p if np.isfinite(p) else None
    line["enough"] = enough_share(new_series, shares, numbers)
    if line["p_clears"] is None:
        line["why"] = "Too few growers at this share."
    elif line["enough"] is None:
        line["why"] = "No share would be enough here."
    return line


def enough_share(new_series: NewSeries, shares: Floats, numbers: Numbers) -> float | None:
    """Smallest share whose p_clears, and that of every larger share with 4 growers, reaches the assurance;
    leave-one-out refits aside."""
    p = new_series.above(numbers.target_ratio)
    enough: float | None = None
    for column in np.argsort(shares)[::-1]:
        if new_series.degrees[column] < NEEDED_AT_SHARE - 1:
            continue
        if not p[column] >= numbers.assurance:
            break
        enough = float(shares[column])
    return enough


def choices_value(given: Answer) -> list[ChoiceLine]:
    """The verdict for other targets and assurances, with all leave-one-out refits; empty without a model."""
    fitted = given.fitted
    if fitted is None:
        return []
    lines: list[ChoiceLine] = []
    for target in TARGETS:
        for assurance in ASSURANCES:
            evidence = weigh(
                fitted.chances,
                fitted.leave_one_out,
                fitted.others,
                fitted.estimate,
                given.stopped_runs_forbid_clears,
                target,
                assurance,
            )
            advice = advise(fitted.estimate.design.shares, evidence, assurance)
            line: ChoiceLine = {
                "target_ratio": target,
                "assurance": assurance,
                "verdict": advice.verdict,
                "share": advice.share,
            }
            if advice.verdict != ENOUGH:
                line["why"] = "No share is enough for these two numbers."
            lines.append(line)
    return lines


def sensitivity_value(given: Answer, numbers: Numbers) -> SensitivityValue:
    """The headline without the members' slope in share, beside it as its sensitivity."""
    if given.fitted is None or given.independence is None:
        return {"shares": [], "why": given.why}
    new_series, shares = refit_safely(given.effects, given.independence, WITHOUT_SLOPE)
    if new_series is None:
        return {"shares": [], "why": "Too few tests for this model."}
    p = new_series.above(numbers.target_ratio)
    return {
        "shares": [
            {"share": float(share), "ratio": float(np.exp(new_series.mean[j])), "p_clears": float(p[j])}
            for j, share in enumerate(shares)
            if np.isfinite(p[j])
        ]
    }

"""How well growers agree, as values for the pages; and, for the coordinator alone, who looks unlike the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.behind.agreement import algorithm_a, deletion_z, laboratory_moments, robust_scores
from pipeline.compare.model.leave_out import Refits
from pipeline.compare.model.prediction import NEEDED_AT_SHARE
from pipeline.compare.verdict.answer import Answer, Fitted
from schemas.results.details import AgreementValue

WARNING, ACTION = 2.0, 3.0
BEYOND_WARNING = 0.05
"""Part of growers that lie beyond WARNING by luck alone: of a normal spread, 0.046 lies beyond 2."""
FACTOR_95 = 2.8


def member_z(fitted: Fitted) -> dict[int, float]:
    """Deletion z of each member (by the caller's number) against a fit of the rest; empty where refits were not made."""
    design, leave_one_out = fitted.estimate.design, fitted.leave_one_out
    position = {int(code): j for j, code in enumerate(design.member_code)}
    rows = [
        row for row, chosen in enumerate(leave_one_out.members) if len(chosen) == 1 and chosen[0] in position
    ]
    if not rows or not len(leave_one_out.refits.refits.variances):
        return {}
    left_out: list[Whole] = [np.array([position[leave_one_out.members[row][0]]]) for row in rows]
    refits = leave_one_out.refits.refits
    chosen = Refits(
        refits.variances[rows],
        refits.coefficients[rows],
        refits.covariance[rows],
        refits.log_likelihood[rows],
        refits.variances_held,
    )
    x = (design.effects.share - design.effects.reference) / 100.0
    scores = deletion_z(fitted.estimate.fit.layout, chosen, left_out, x)
    return {
        leave_one_out.members[row][0]: score
        for row, score in zip(rows, scores, strict=True)
        if score is not None
    }


def agreement_value(given: Answer, reference_share: float) -> AgreementValue:
    """ISO 5725-2 figures of growers' ratios at the share nearest the reference share, robust mean over growers, and how
    many stand apart; never who. growers_within is the model's figure, `cv_member`, at the reference share."""
    if given.fitted is None:
        return _no_agreement(None, given.why)
    share = _share(given.fitted, reference_share)
    growers = _growers_at(given, share)
    if len(growers.pots) < 2:
        return _no_agreement(share, "Fewer than two growers at this share.")
    moments = laboratory_moments(growers.pots, growers.means, growers.squares, growers.repeats)
    single_pots = float(np.sqrt(given.fitted.heterogeneity.spread + 2.0 * given.repeatability.sd**2))
    scores = [abs(z) for z in member_z(given.fitted).values()]
    value: AgreementValue = {
        "share": share,
        "s_r": moments.s_r,
        "s_between": moments.s_between,
        "s_reproducibility": moments.s_reproducibility,
        "pots_within": _factor(moments.s_r),
        "growers_within": _factor(single_pots),
        "largest_h": float(np.abs(moments.h).max()),
        "largest_k": float(moments.k.max()) if moments.s_r is not None else None,
        "robust_ratio": float(np.exp(algorithm_a(growers.means).mean)),
        "members_beyond_2": sum(z > WARNING for z in scores) if scores else None,
        "members_beyond_3": sum(z > ACTION for z in scores) if scores else None,
    }
    if any(figure is None for figure in value.values()):
        value["why"] = "Too few repeated pots or growers for the figures left empty."
    return value


def _factor(sd: float | None) -> float | None:
    """The factor that two single values differ by in 95 % of pairs."""
    return None if sd is None else float(np.exp(FACTOR_95 * sd))


def _no_agreement(share: float | None, why: str) -> AgreementValue:
    return {
        "share": share,
        "s_r": None,
        "s_between": None,
        "s_reproducibility": None,
        "pots_within": None,
        "growers_within": None,
        "largest_h": None,
        "largest_k": None,
        "robust_ratio": None,
        "members_beyond_2": None,
        "members_beyond_3": None,
        "why": why,
    }


def _share(fitted: Fitted, reference_share: float) -> float:
    shares, units = fitted.estimate.design.shares, fitted.estimate.units
    good = units >= min(NEEDED_AT_SHARE, int(units.max()))
    return float(min(shares[good], key=lambda share: (abs(share - reference_share), share)))


@dataclass(frozen=True)
class _Growers:
    """Per grower at one share: pots, mean ln ratio over series, sum of squares of pots about their mix, its degrees."""

    pots: Floats
    means: Floats
    squares: Floats
    repeats: Floats


def _growers_at(given: Answer, share: float) -> _Growers:
    """Growers with a contrast to their own baseline at the share; those who share a day or a bag count as one."""
    effects = given.effects.chosen(given.effects.based & (given.effects.share == share))
    timed = given.cells.chosen(given.cells.timed & (given.cells.merged == share))
    groups = given.independence.group if given.independence else {}
    squares: dict[int, float] = {}
    repeats: dict[int, int] = {}
    for series, value, pots in zip(timed.series, timed.sum_squares, timed.pots, strict=True):
        squares[int(series)] = squares.get(int(series), 0.0) + float(value)
        repeats[int(series)] = repeats.get(int(series), 0) + int(pots) - 1
    grower = np.array([groups.get(int(member), int(member)) for member in effects.member], dtype=np.int64)
    _, place = np.unique(grower, return_inverse=True)
    codes = [int(code) for code in effects.series]

    def added(values: Sequence[float] | Floats | Whole) -> Floats:
        weights = np.array(values, dtype=np.float64)
        return np.bincount(place, weights=weights).astype(np.float64)

    return _Growers(
        added(effects.pots),
        added(effects.y) / np.bincount(place),
        added([squares.get(code, 0.0) for code in codes]),
        added([repeats.get(code, 0) for code in codes]),
    )


@dataclass(frozen=True)
class Levels:
    """Robust z of each series' own baseline rate among all series, and the distance from the robust mean."""

    series: Whole
    score: Floats
    distance: Floats
    sd: float


def baseline_levels(given: Answer) -> Levels | None:
    """How far each series' baseline ln rate stands from the others'; None below 5 series."""
    base = given.cells.chosen(given.cells.timed & (given.cells.merged == 0))
    scores = robust_scores(base.mean)
    if scores is None:
        return None
    typical = algorithm_a(base.mean)
    return Levels(base.series, scores, base.mean - typical.mean, typical.sd)

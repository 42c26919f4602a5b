"""What a new grower's series may show at each share: intervals, probabilities, and what every guard says of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.contrasts import Effects
from pipeline.compare.design import Design
from pipeline.compare.estimate import (
    NORMAL_95,
    Estimate,
    Without,
    probability_above,
    t_quantile,
    without_each,
)
from pipeline.compare.layout import Flags, Floats, Whole
from pipeline.compare.robust import Robust, cluster_robust

NEEDED_IN_FIT = 5
NEEDED_AT_SHARE = 4
NEEDED_FOR_MEAN = 3
NEEDED_WHERE_SPARSE = 5


@dataclass(frozen=True)
class Prediction:
    """Per share of the design, ln scale. low, high: 95 % interval of the mean (CR2, never narrower than the model's);
    new_low, new_high: 95 % prediction interval for a new series; deviation: its standard deviation.

    The probabilities are of a new series, and of one pot beside one pot, being faster and reaching the target.
    """

    robust: Robust | None
    low: Floats
    high: Floats
    new_low: Floats
    new_high: Floats
    deviation: Floats
    p_faster: Floats
    p_clears: Floats
    p_faster_pot: Floats
    p_clears_pot: Floats


def predict(found: Estimate, pot_variance: float, target_ratio: float) -> Prediction:
    """Intervals and probabilities at each share; `pot_variance` is s_r squared."""
    design = found.design
    degrees = (found.units - 1).astype(np.float64)
    robust = (
        cluster_robust(found.fit, design.unit[design.layout.row_member])
        if len(set(design.unit)) > 1
        else None
    )
    half = _half_width(found, robust)
    deviation = series_deviation(design, found.mean, found.error, found.spread, found.units)
    with np.errstate(invalid="ignore"):
        reach = t_quantile(np.where(degrees >= 1, degrees, np.nan)) * deviation
    pot = np.sqrt(deviation**2 + 2.0 * pot_variance)
    target = float(np.log(target_ratio))
    return Prediction(
        robust=robust,
        low=found.mean - half,
        high=found.mean + half,
        new_low=found.mean - reach,
        new_high=found.mean + reach,
        deviation=deviation,
        p_faster=probability_above(found.mean, deviation, degrees, 0.0),
        p_clears=probability_above(found.mean, deviation, degrees, target),
        p_faster_pot=probability_above(found.mean, pot, degrees, 0.0),
        p_clears_pot=probability_above(found.mean, pot, degrees, target),
    )


def _half_width(found: Estimate, robust: Robust | None) -> Floats:
    """Half the 95 % interval of each mean; NaN where the growers are too few for any."""
    own = NORMAL_95 * found.error
    if robust is None:
        return np.full(len(own), np.nan)
    count = len(found.design.shares)
    degrees = robust.degrees[:count]
    with np.errstate(invalid="ignore"):
        wide = t_quantile(np.where(degrees > 0.1, degrees, np.nan)) * robust.standard_errors[:count]
    return np.maximum(own, wide)


def sparse(units: Whole) -> Flags:
    """Shares that fewer than half of the growers in the fit measured."""
    in_fit = int(units.max(initial=0))
    return np.asarray(units < in_fit / 2.0)


def series_deviation(
    design: Design, mean: Floats, error: Floats, spread: Floats, units: Whole, kept: Flags | None = None
) -> Floats:
    """Standard deviation of a new series about the mean. Where fewer than half of the growers measured a share, the
    larger of the model's and that of their own residuals, which a truly more variable share needs."""
    model = np.sqrt(error**2 + spread)
    few = units < _units_in_fit(design, kept) / 2.0
    if not few.any():
        return model
    own = np.sqrt(error**2 + _residual_variance(design, mean, kept))
    return np.where(few & np.isfinite(own), np.maximum(model, own), model)


def _units_in_fit(design: Design, kept: Flags | None) -> int:
    """Independent units with any contrast to their own baseline."""
    row_member = design.layout.row_member
    use = design.effects.based if kept is None else design.effects.based & kept[row_member]
    return len(np.unique(design.unit[row_member[use]]))


def units_in_fit(design: Design) -> int:
    """Independent growers (or clubs) with a contrast to their own baseline."""
    return _units_in_fit(design, None)


def _residual_variance(design: Design, mean: Floats, kept: Flags | None) -> Floats:
    """Variance about the share's mean of the units that measured it, each unit counting once; NaN below two."""
    row_unit = design.unit[design.layout.row_member]
    use = design.effects.based if kept is None else design.effects.based & kept[design.layout.row_member]
    result = np.full(len(design.shares), np.nan)
    for j, share in enumerate(design.shares):
        rows = np.flatnonzero(use & (design.effects.share == share))
        units, position = np.unique(row_unit[rows], return_inverse=True)
        if len(units) > 1:
            squares = np.bincount(position, weights=(design.effects.y[rows] - mean[j]) ** 2) / np.bincount(
                position
            )
            result[j] = squares.sum() / (len(units) - 1)
    return result


@dataclass(frozen=True)
class Guards:
    """p_clears of every refit that leaves out a set of members, (set, share), and which share each refit can judge."""

    kinds: tuple[str, ...]
    members: tuple[tuple[int, ...], ...]
    refits: Without
    p_clears: Floats


def guard(found: Estimate, left_out: tuple[tuple[str, tuple[int, ...]], ...], target_ratio: float) -> Guards:
    """Refits without each member, club and shared lot; `left_out` in the callers' member numbers."""
    design = found.design
    position = {int(code): j for j, code in enumerate(design.member_code)}
    known = [
        (kind, chosen, np.array([position[one] for one in chosen if one in position], dtype=np.int64))
        for kind, chosen in left_out
    ]
    known = [one for one in known if 0 < len(one[2]) < design.layout.members]
    refits = without_each(found, [one[2] for one in known])
    target = float(np.log(target_ratio))
    p_clears = np.full(refits.mean.shape, np.nan)
    for row, (_, _, chosen) in enumerate(known):
        kept = np.ones(design.layout.members, dtype=bool)
        kept[chosen] = False
        deviation = series_deviation(
            design, refits.mean[row], refits.error[row], refits.spread[row], refits.units[row], kept
        )
        degrees = (refits.units[row] - 1).astype(np.float64)
        p_clears[row] = probability_above(refits.mean[row], deviation, degrees, target)
    return Guards(tuple(one[0] for one in known), tuple(one[1] for one in known), refits, p_clears)


def based_only(effects: Effects) -> Effects | None:
    """The contrasts without difference-only series; None where there are none of these."""
    return None if bool(effects.based.all()) else effects.chosen(effects.based)

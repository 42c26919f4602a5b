"""What a new grower's series may show at each share: intervals and probabilities."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.model.design import Design
from pipeline.compare.model.estimate import (
    NORMAL_95,
    Estimate,
    club_offsets,
    probability_above,
    t_quantile,
)
from pipeline.compare.model.robust import Robust, cluster_robust

NEEDED_IN_FIT = 5
NEEDED_AT_SHARE = 4
NEEDED_FOR_MEAN = 3
NEEDED_WHERE_SPARSE = 5


@dataclass(frozen=True)
class NewSeries:
    """What one fit, or many (leading axis), says of a new series at each share: t with centre, width and degrees.

    offsets: of fixed clubs from the centre (fit, club), NaN for a club that a refit lacks; None where clubs are not fixed.
    """

    mean: Floats
    deviation: Floats
    degrees: Floats
    offsets: Floats | None = None

    def above(self, ratio: float) -> Floats:
        """Probability of a ratio above this, fixed clubs counted equally; NaN below one degree of freedom."""
        limit = float(np.log(ratio))
        if self.offsets is None:
            return probability_above(self.mean, self.deviation, self.degrees, limit)
        chances = [
            probability_above(
                self.mean + np.nan_to_num(offset)[..., None], self.deviation, self.degrees, limit
            )
            for offset in np.moveaxis(self.offsets, -1, 0)
        ]
        weight = np.isfinite(np.moveaxis(self.offsets, -1, 0)).astype(np.float64)[..., None]
        return np.asarray((weight * np.array(chances)).sum(axis=0) / weight.sum(axis=0))

    def range(self) -> tuple[Floats, Floats]:
        """95 % range (ln), fixed clubs at their middle; NaN below one degree of freedom."""
        with np.errstate(invalid="ignore"):
            reach = t_quantile(np.where(self.degrees >= 1, self.degrees, np.nan)) * self.deviation
        return self.mean - reach, self.mean + reach

    def plus(self, variance: float) -> NewSeries:
        """The same with a further independent variance, such as that of one pot beside one pot."""
        return replace(self, deviation=np.sqrt(self.deviation**2 + variance))


@dataclass(frozen=True)
class Prediction:
    """Per share of the design, ln scale. low, high: 95 % interval of the mean (CR2, never narrower than the model's);
    new_low, new_high: 95 % prediction interval for a new series, fixed clubs at their middle; deviation: its standard
    deviation.

    The probabilities are of a new series, and of one pot beside one pot, being faster and reaching the target.
    """

    new_series: NewSeries
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


def predict(estimated: Estimate, pot_variance: float, target_ratio: float) -> Prediction:
    """Intervals and probabilities at each share; `pot_variance` is s_r squared."""
    design = estimated.design
    new_series = new_series_at_shares(estimated)
    robust = (
        cluster_robust(estimated.fit, design.unit[design.layout.row_member])
        if len(set(design.unit)) > 1
        else None
    )
    half = _half_width(estimated, robust)
    mean = (estimated.mean - half, estimated.mean + half)
    return prediction_of(new_series, robust, mean, pot_variance, target_ratio)


def prediction_of(
    new_series: NewSeries,
    robust: Robust | None,
    mean: tuple[Floats, Floats],
    pot_variance: float,
    target_ratio: float,
) -> Prediction:
    """What a new series and one pot beside one pot may show; `mean`: the 95 % interval of the mean, low and high."""
    new_low, new_high = new_series.range()
    pot = new_series.plus(2.0 * pot_variance)
    return Prediction(
        new_series=new_series,
        robust=robust,
        low=mean[0],
        high=mean[1],
        new_low=new_low,
        new_high=new_high,
        deviation=new_series.deviation,
        p_faster=new_series.above(1.0),
        p_clears=new_series.above(target_ratio),
        p_faster_pot=pot.above(1.0),
        p_clears_pot=pot.above(target_ratio),
    )


def _half_width(estimated: Estimate, robust: Robust | None) -> Floats:
    """Half the 95 % interval of each mean; NaN where the growers are too few for any."""
    own = NORMAL_95 * estimated.error
    if robust is None:
        return np.full(len(own), np.nan)
    count = len(estimated.design.shares)
    degrees = robust.degrees[:count]
    with np.errstate(invalid="ignore"):
        wide = t_quantile(np.where(degrees > 0.1, degrees, np.nan)) * robust.standard_errors[:count]
    return np.maximum(own, wide)


def series_deviation(
    design: Design,
    mean: Floats,
    error: Floats,
    spread: Floats,
    units: Whole,
    in_fit: int,
    kept: Flags | None = None,
) -> Floats:
    """Standard deviation of a new series about the mean. Where fewer than half of the growers measured a share, the
    larger of the model's and that of their own residuals, which a truly more variable share needs."""
    model = np.sqrt(error**2 + spread)
    few = units < in_fit / 2.0
    if not few.any():
        return model
    own = np.sqrt(error**2 + residual_variance(design, mean, kept))
    return np.where(few & np.isfinite(own), np.maximum(model, own), model)


def sparse_variance(estimated: Estimate) -> Floats:
    """Floor for a new series' variance where fewer than half of the growers measured a share: that of their own
    residuals; NaN elsewhere."""
    sparse = estimated.units < units_in_fit(estimated.design) / 2.0
    return np.where(sparse, residual_variance(estimated.design, estimated.mean), np.nan)


def units_in_fit(design: Design) -> int:
    """Independent growers (or clubs) with a contrast to their own baseline."""
    return len(np.unique(design.unit[design.layout.row_member[design.effects.based]]))


def residual_variance(design: Design, mean: Floats, kept: Flags | None = None) -> Floats:
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


def new_series_at_shares(estimated: Estimate) -> NewSeries:
    """What a fit says of a new series at each share."""
    deviation = series_deviation(
        estimated.design,
        estimated.mean,
        estimated.error,
        estimated.spread,
        estimated.units,
        units_in_fit(estimated.design),
    )
    design = estimated.design
    offsets = club_offsets(design, estimated.fit.coefficients[None])[0] if design.offsets else None
    return NewSeries(estimated.mean, deviation, (estimated.units - 1).astype(np.float64), offsets)

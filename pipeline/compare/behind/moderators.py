"""One-df contrasts between kinds of test: a shift of the ratio above 25 %, judged by CR2 with Holm's correction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr

from pipeline.compare.arrays import Floats
from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Independence
from pipeline.compare.model.design import headline_design
from pipeline.compare.model.estimate import NORMAL_95, estimate, t_quantile
from pipeline.compare.model.robust import cluster_robust
from schemas.results.details import ContrastLine

SHIFT_ABOVE = 25.0
NEEDED_DEGREES = 4.0
MEMBERS_PER_COEFFICIENT = 10
NEEDED_PER_SIDE = 2


@dataclass(frozen=True)
class Shift:
    """A contrast as a ratio of ratios with its 95 % interval; p is None where growers are too few to test.

    `both`: growers who tested both kinds; only they tell the contrast within a grower.
    """

    name: str
    words: str
    ratio: float | None
    low: float | None
    high: float | None
    degrees: float | None
    p: float | None
    members: int
    both: int
    why: str


def shift_columns(effects: Effects, values: Floats) -> Floats:
    """Moderator columns: the series' value at shares above 25 %, less that of the reference mix."""
    above = (effects.share > SHIFT_ABOVE).astype(np.float64) - (effects.reference > SHIFT_ABOVE)
    return np.asarray(_wide(values) * above[:, None])


def _wide(values: Floats) -> Floats:
    """A moderator or several as columns."""
    return values[:, None] if values.ndim == 1 else values


def fit_shift(
    name: str, words: str, effects: Effects, values: Floats, independent: Independence, column: int = 0
) -> Shift:
    """The contrast in this `column` of `values` (effect, column); effects with an unknown value, and those at
    shares up to 25 %, where a shift could hide in the series' level, are left out."""
    values = _wide(values)
    known = np.asarray(np.isfinite(values).all(axis=1) & (effects.share > SHIFT_ABOVE))
    effects, values = effects.chosen(known), values[known]
    columns = shift_columns(effects, values)
    units, both = _sides(effects, values[:, column], independent)
    nothing = Shift(name, words, None, None, None, None, None, units, both, "")
    if units < 2 * NEEDED_PER_SIDE or not _informative(effects, columns, values[:, column], independent):
        return _because(nothing, "Too few growers tested each kind above 25 % to say anything.")
    design = headline_design(effects, independent, extra=columns)
    if np.linalg.matrix_rank(design.layout.X) < design.layout.X.shape[1]:
        return _because(nothing, "The kinds were not tested at common shares, so they can't be told apart.")
    estimated = estimate(design)
    index = len(design.shares) + design.offsets + column
    robust = cluster_robust(estimated.fit, design.unit[design.layout.row_member])
    return judged(
        nothing,
        float(estimated.fit.coefficients[index]),
        estimated.fit.covariance[index, index],
        robust.covariance[index, index],
        float(robust.degrees[index]),
        units,
        columns.shape[1],
    )


def judged(
    nothing: Shift, b: float, model: float, robust: float, degrees: float, units: int, coefficients: int
) -> Shift:
    """Interval and, where growers allow, the two-sided p of a coefficient."""
    error = float(np.sqrt(max(robust, 0.0)))
    if degrees < 1.0 or error == 0.0:
        return _because(nothing, "Too few growers to give an interval.")
    half = max(float(t_quantile(np.array(degrees))) * error, NORMAL_95 * float(np.sqrt(model)))
    tested = degrees >= NEEDED_DEGREES and units >= MEMBERS_PER_COEFFICIENT * coefficients
    p = float(2.0 * stdtr(degrees, -abs(b) / error)) if tested else None
    why = "" if tested else "Too few growers to test; the interval is all there is."
    wide = half > 50.0
    return Shift(
        nothing.name,
        nothing.words,
        float(np.exp(b)),
        None if wide else float(np.exp(b - half)),
        None if wide else float(np.exp(b + half)),
        degrees,
        p,
        units,
        nothing.both,
        why,
    )


def _because(nothing: Shift, why: str) -> Shift:
    return Shift(
        nothing.name, nothing.words, None, None, None, None, None, nothing.members, nothing.both, why
    )


def _sides(effects: Effects, values: Floats, independent: Independence) -> tuple[int, int]:
    """(independent growers, growers with more than one value)."""
    units = np.array([independent.unit[int(member)] for member in effects.member], dtype=np.int64)
    seen = {int(unit): len(np.unique(values[units == unit])) for unit in np.unique(units)}
    return len(seen), sum(count > 1 for count in seen.values())


def _informative(effects: Effects, columns: Floats, values: Floats, independent: Independence) -> bool:
    """Whether at least two growers stand on each side of the middle, above 25 %."""
    if not len(effects) or np.all(columns == 0):
        return False
    above = effects.share > SHIFT_ABOVE
    middle = 0.5 * (values[above].min() + values[above].max())
    units = np.array([independent.unit[int(member)] for member in effects.member], dtype=np.int64)
    sides = [len(np.unique(units[above & side])) for side in (values > middle, values <= middle)]
    return min(sides) >= NEEDED_PER_SIDE and bool(values[above].max() > values[above].min())


def holm(values: Sequence[float | None]) -> list[float | None]:
    """Holm's adjusted p over those that could be tested; the number of predeclared contrasts is the family."""
    family = len(values)
    order = sorted((value, j) for j, value in enumerate(values) if value is not None)
    adjusted: list[float | None] = [None] * family
    largest = 0.0
    for rank, (value, j) in enumerate(order):
        largest = max(largest, min(1.0, value * (family - rank)))
        adjusted[j] = largest
    return adjusted


def shift_value(shift: Shift, adjusted: float | None) -> ContrastLine:
    """The contrast as it stands in `results.json`."""
    value: ContrastLine = {
        "contrast": shift.name,
        "words": shift.words,
        "ratio_of_ratios": shift.ratio,
        "ci": None if shift.low is None or shift.high is None else [shift.low, shift.high],
        "df": shift.degrees,
        "p": adjusted,
        "members": shift.members,
        "members_with_both": shift.both,
    }
    if shift.why or adjusted is None:
        value["why"] = shift.why or "Exploratory: no p-value."
    return value

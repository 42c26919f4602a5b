"""A fitted model read share by share: mean, its standard error, spread between new growers' series, counts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr, stdtrit

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.model.design import Design
from pipeline.compare.model.leave_out import Refits, refit_without
from pipeline.compare.model.reml import Fit, fit_layout

NORMAL_95 = 1.959963984540054


@dataclass(frozen=True)
class Estimate:
    """Per share of the design: mean ln ratio, its model standard error, spread T of a new series (a variance), and
    how many independent units have a contrast to their own baseline there."""

    design: Design
    fit: Fit
    mean: Floats
    error: Floats
    spread: Floats
    units: Whole


@dataclass(frozen=True)
class Without:
    """The same from every leave-one-out refit: leading axis one entry per set left out."""

    mean: Floats
    error: Floats
    spread: Floats
    units: Whole
    in_fit: Whole
    refits: Refits


def estimate(design: Design, near: Fit | None = None) -> Estimate:
    """Fits the design and reads it share by share; `near` a fit of much the same data to start from."""
    fit = fit_layout(design.layout, near=near)
    count = len(design.shares)
    error = np.sqrt(np.diag(fit.covariance)[:count])
    spread = spread_at(design, fit.variances[None], design.shares / 100.0)[0]
    return Estimate(design, fit, fit.coefficients[:count], error, spread, units_at(design))


def spread_at(design: Design, variances: Floats, x: Floats) -> Floats:
    """Variance of a new grower's series about the mean, (fit, share): members, series, mixes, clubs drawn at random.

    Fixed clubs are a finite set, not a spread: `club_offsets` has them one by one (methods note, section 15).
    """
    between, within = spread_parts(design, variances, x)
    return between + within


def spread_parts(design: Design, variances: Floats, x: Floats) -> tuple[Floats, Floats]:
    """(between growers, between series of one grower), each a variance per fit and share."""
    member, series, mix, club = design.layout.split(variances)
    between = np.zeros((len(variances), len(x)))
    slope = design.slope and member.shape[1] > 0
    if member.shape[1] - int(slope):
        between += member[:, :1]
    if slope:
        between += member[:, -1:] * x[None, :] ** 2
    between += club.sum(axis=1, keepdims=True)
    within = np.zeros_like(between) + series.sum(axis=1, keepdims=True) + mix
    return between, within


def club_offsets(design: Design, coefficients: Floats) -> Floats:
    """(fit, club) offsets of fixed clubs, which add up to 0; one column of zeros where clubs are not fixed."""
    if not design.offsets:
        return np.zeros((len(coefficients), 1))
    offsets = coefficients[:, len(design.shares) : len(design.shares) + design.offsets]
    return np.column_stack([offsets, -offsets.sum(axis=1)])


def units_at(design: Design, kept: Flags | None = None) -> Whole:
    """How many independent units have a contrast to their own baseline at each share; `kept` members only."""
    return _distinct_at(design, design.unit, kept)


def members_at(design: Design) -> Whole:
    """How many members have one, those who share rounds or lots counted once."""
    return _distinct_at(design, design.group, None)


def _distinct_at(design: Design, label: Whole, kept: Flags | None) -> Whole:
    effects, row_member = design.effects, design.layout.row_member
    use = effects.based if kept is None else effects.based & kept[row_member]
    return np.array(
        [len(np.unique(label[row_member[use & (effects.share == share)]])) for share in design.shares],
        dtype=np.int64,
    )


def without_each(full: Estimate, left_out: list[Whole], laid_anew: Flags) -> Without:
    """Refits without each set of layout members, read share by share; sets that need a layout of their own
    (`laid_anew`) are counted but not refitted: the caller puts their figures in."""
    design = full.design
    nobody = np.zeros(0, dtype=np.int64)
    refits = refit_without(
        full.fit, [nobody if anew else chosen for chosen, anew in zip(left_out, laid_anew, strict=True)]
    )
    count = len(design.shares)
    units = np.zeros((len(left_out), count), dtype=np.int64)
    in_fit = np.zeros(len(left_out), dtype=np.int64)
    present = _presence(design)
    for row, chosen in enumerate(left_out):
        kept = np.ones(design.layout.members, dtype=bool)
        kept[chosen] = False
        by_unit = _units_present(present, design.unit, kept)
        units[row], in_fit[row] = by_unit.sum(axis=0), by_unit.any(axis=1).sum()
    error = np.sqrt(np.diagonal(refits.covariance, axis1=1, axis2=2)[:, :count])
    spread = spread_at(design, refits.variances, design.shares / 100.0)
    return Without(refits.coefficients[:, :count], error, spread, units, in_fit, refits)


def _presence(design: Design) -> Flags:
    """(member, share): has a contrast to the own baseline."""
    effects = design.effects
    present = np.zeros((design.layout.members, len(design.shares)), dtype=bool)
    use = effects.based
    present[design.layout.row_member[use], np.searchsorted(design.shares, effects.share[use])] = True
    return present


def _units_present(present: Flags, unit: Whole, kept: Flags) -> Flags:
    """(unit, share): some kept member of the unit has a contrast there."""
    by_unit = np.zeros((int(unit.max()) + 1, present.shape[1]), dtype=bool)
    np.logical_or.at(by_unit, unit[kept], present[kept])
    return by_unit


def probability_above(mean: Floats, deviation: Floats, degrees: Floats, limit: float) -> Floats:
    """Probability that a new value exceeds `limit`, t with these degrees of freedom; NaN below 1 degree."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(degrees >= 1, stdtr(np.maximum(degrees, 1), (mean - limit) / deviation), np.nan)


def t_quantile(degrees: Floats, level: float = 0.975) -> Floats:
    """Quantile of Student's t."""
    return np.asarray(stdtrit(degrees, level))

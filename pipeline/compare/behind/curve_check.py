"""The slope-only model: a quadratic through 1 at share 0, growers and series differing by slopes. A numerical check
against outside values and a robustness line; never a basis for decisions."""

from __future__ import annotations

import numpy as np

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Independence
from pipeline.compare.model.layout import Layout, nest, no_columns
from pipeline.compare.model.prediction import NewSeries
from pipeline.compare.model.reml import Fit, fit_layout


def curve_layout(effects: Effects) -> tuple[Layout, Whole]:
    """(layout, order of the effects in it): y = x b1 + x² b2 + x (member) + x (series) + fillings, K = I + 11'."""
    order, series, member, block = nest(effects.series, effects.member, effects.member)
    chosen = effects.chosen(order)
    x, start = chosen.share / 100.0, chosen.reference / 100.0
    slope = (x - start)[:, None]
    return Layout(
        y=chosen.y,
        X=np.column_stack([x - start, x**2 - start**2]),
        own_variance=chosen.own_variance,
        reference_variance=chosen.reference_variance,
        shared_filling=np.ones(len(x), dtype=bool),
        z_series=slope if np.any(np.bincount(member) > 1) else no_columns(len(x)),
        z_member=slope,
        z_club=no_columns(len(x)),
        with_mix=bool(np.any(np.bincount(series) > 1)),
        series=series,
        member=member,
        block=block,
    ), order


def curve_new_series(effects: Effects, independent: Independence, shares: Floats) -> NewSeries | None:
    """What the slope-only model says of a new series at these shares, or None where the contrasts are too few."""
    if len(effects) < 4 or len(np.unique(effects.share)) < 2:
        return None
    fit = fit_layout(curve_layout(effects)[0])
    mean, deviation = curve_at(fit, shares / 100.0)
    based = effects.chosen(effects.based)
    units = [
        len({independent.unit[int(member)] for member in based.member[based.share == share]})
        for share in shares
    ]
    return NewSeries(mean, deviation, np.array(units, dtype=np.float64) - 1.0)


def curve_at(fit: Fit, x: Floats) -> tuple[Floats, Floats]:
    """(mean ln ratio, standard deviation of a new series) at shares x (0-1)."""
    basis = np.column_stack([x, x**2])
    error = np.einsum("ij,jk,ik->i", basis, fit.covariance, basis)
    spread = x**2 * (fit.variance("member_0") + fit.variance("series_0"))
    return basis @ fit.coefficients, np.sqrt(error + spread)

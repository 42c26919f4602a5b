"""Refits that the verdicts lean on: without a member, club or lot, and the headline model on other contrasts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Independence
from pipeline.compare.model.design import HEADLINE, Form, headline_design
from pipeline.compare.model.estimate import Estimate, Without, club_offsets, estimate, without_each
from pipeline.compare.model.prediction import NewSeries, new_series_at_shares, series_deviation
from pipeline.compare.model.reml import Fit


@dataclass(frozen=True)
class LeftOut:
    """A set that one refit leaves out. kind: member, group, club or lot; codes: its members as the caller numbers
    them; members: their numbers in the layout."""

    kind: str
    codes: tuple[int, ...]
    members: Whole


@dataclass(frozen=True)
class LeaveOneOut:
    """Refits without one set of members each. kinds, members: what was left out; new_series: what each refit says of
    a new series (set, share)."""

    kinds: tuple[str, ...]
    members: tuple[tuple[int, ...], ...]
    refits: Without
    new_series: NewSeries


def leave_one_out_refits(estimated: Estimate, independent: Independence) -> LeaveOneOut:
    """Refits without each member, club and shared lot that `independent` lists."""
    design = estimated.design
    sets = sets_left_out(independent, design.member_code)
    laid_anew = [len(left.codes) > 1 and _takes_a_club(independent, left.codes) for left in sets]
    refits = without_each(estimated, [left.members for left in sets], np.array(laid_anew, dtype=bool))
    deviation = np.zeros(refits.mean.shape)
    offsets = club_offsets(design, refits.refits.coefficients)
    for row, left in enumerate(sets):
        if _takes_a_club(independent, left.codes):
            refits, own = _replaced(refits, row, estimated, independent, left.codes)
            offsets[row] = np.nan
            offsets[row, : len(own)] = own
        kept = np.ones(design.layout.members, dtype=bool)
        kept[left.members] = False
        deviation[row] = series_deviation(
            design,
            refits.mean[row],
            refits.error[row],
            refits.spread[row],
            refits.units[row],
            int(refits.in_fit[row]),
            kept,
        )
    degrees = (refits.units - 1).astype(np.float64)
    new_series = NewSeries(refits.mean, deviation, degrees, offsets if design.offsets else None)
    return LeaveOneOut(
        tuple(left.kind for left in sets), tuple(left.codes for left in sets), refits, new_series
    )


def sets_left_out(independent: Independence, member_code: Whole) -> list[LeftOut]:
    """The sets that `independent` lists, with their numbers among the layout's members; neither none nor all of them."""
    position = {int(code): number for number, code in enumerate(member_code)}
    sets = [
        LeftOut(kind, codes, np.array([position[code] for code in codes if code in position], dtype=np.int64))
        for kind, codes in independent.left_out
    ]
    return [left for left in sets if 0 < len(left.members) < len(member_code)]


def _takes_a_club(independent: Independence, members: tuple[int, ...]) -> bool:
    """Whether a fixed club offset loses all its members, so that the model has to be laid out anew."""
    if independent.offsets is None:
        return False
    clubs = set(independent.offsets.values())
    return {club for member, club in independent.offsets.items() if member not in members} != clubs


def _replaced(
    refits: Without, row: int, full: Estimate, independent: Independence, members: tuple[int, ...]
) -> tuple[Without, Floats]:
    """The refits with one of them done on a new layout, the left-out club's offset gone, and that one's club offsets."""
    design = full.design
    kept = design.effects.chosen(~np.isin(design.effects.member, members))
    smaller = headline_design(kept, independent.without(members))
    estimated = estimate(smaller, full.fit)
    columns = np.searchsorted(design.shares, smaller.shares)
    mean, error, spread = refits.mean.copy(), refits.error.copy(), refits.spread.copy()
    error[row] = np.inf
    mean[row, columns], error[row, columns], spread[row, columns] = (
        estimated.mean,
        estimated.error,
        estimated.spread,
    )
    offsets = club_offsets(smaller, estimated.fit.coefficients[None])[0]
    return Without(mean, error, spread, refits.units, refits.in_fit, refits.refits), offsets


def refit_at_shares(
    effects: Effects, independent: Independence, shares: Floats, near: Fit | None = None
) -> NewSeries:
    """The headline model on other contrasts, read at the given shares; no degrees at a share it does not have."""
    new_series, own = refit(effects, independent, HEADLINE, near)
    columns = np.searchsorted(own, shares)
    known = (columns < len(own)) & (own[np.minimum(columns, len(own) - 1)] == shares)
    columns = np.minimum(columns, len(own) - 1)
    return NewSeries(
        np.where(known, new_series.mean[columns], 0.0),
        np.where(known, new_series.deviation[columns], 1.0),
        np.where(known, new_series.degrees[columns], 0.0),
        new_series.offsets,
    )


def refit(
    effects: Effects, independent: Independence, form: Form, near: Fit | None = None
) -> tuple[NewSeries, Floats]:
    """(what a model of this form says, shares it says it at)."""
    design = headline_design(effects, independent, form)
    return new_series_at_shares(estimate(design, near)), design.shares


def based_only(effects: Effects) -> Effects | None:
    """The contrasts without difference-only series; None where there are none of these."""
    return None if bool(effects.based.all()) else effects.chosen(effects.based)

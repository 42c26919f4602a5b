"""Refits that the verdicts lean on: without a member, club or lot, and the headline model on other contrasts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Floats
from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Independence
from pipeline.compare.model.design import HEADLINE, Form, headline_design
from pipeline.compare.model.estimate import Estimate, Without, estimate, without_each
from pipeline.compare.model.prediction import Reading, read_series, series_deviation
from pipeline.compare.model.reml import Fit


@dataclass(frozen=True)
class Guards:
    """Refits that leave out a set of members each: its kind, its members, what the refit says (set, share)."""

    kinds: tuple[str, ...]
    members: tuple[tuple[int, ...], ...]
    refits: Without
    reading: Reading


def guard(found: Estimate, independent: Independence) -> Guards:
    """Refits without each member, club and shared lot that `independent` lists."""
    design = found.design
    position = {int(code): j for j, code in enumerate(design.member_code)}
    known = [
        (kind, chosen, np.array([position[one] for one in chosen if one in position], dtype=np.int64))
        for kind, chosen in independent.left_out
    ]
    known = [one for one in known if 0 < len(one[2]) < design.layout.members]
    laid_anew = [len(one[1]) > 1 and _takes_a_club(independent, one[1]) for one in known]
    refits = without_each(found, [one[2] for one in known], np.array(laid_anew, dtype=bool))
    deviation = np.zeros(refits.mean.shape)
    for row, (_, chosen_codes, chosen) in enumerate(known):
        if _takes_a_club(independent, chosen_codes):
            refits = _replaced(refits, row, found, independent, chosen_codes)
        kept = np.ones(design.layout.members, dtype=bool)
        kept[chosen] = False
        deviation[row] = series_deviation(
            design,
            refits.mean[row],
            refits.error[row],
            refits.spread[row],
            refits.units[row],
            int(refits.in_fit[row]),
            kept,
        )
    reading = Reading(refits.mean, deviation, (refits.units - 1).astype(np.float64))
    return Guards(tuple(one[0] for one in known), tuple(one[1] for one in known), refits, reading)


def _takes_a_club(independent: Independence, members: tuple[int, ...]) -> bool:
    """Whether a fixed club offset loses all its members, so that the model has to be laid out anew."""
    if independent.offsets is None:
        return False
    clubs = set(independent.offsets.values())
    return {club for member, club in independent.offsets.items() if member not in members} != clubs


def _replaced(
    refits: Without, row: int, full: Estimate, independent: Independence, members: tuple[int, ...]
) -> Without:
    """The refits with one of them done on a new layout, the left-out club's offset gone."""
    design = full.design
    kept = design.effects.chosen(~np.isin(design.effects.member, members))
    smaller = headline_design(kept, independent.without(members))
    found = estimate(smaller, full.fit)
    at = np.searchsorted(design.shares, smaller.shares)
    mean, error, spread = refits.mean.copy(), refits.error.copy(), refits.spread.copy()
    error[row] = np.inf
    mean[row, at], error[row, at], spread[row, at] = found.mean, found.error, found.spread
    return Without(mean, error, spread, refits.units, refits.in_fit, refits.refits)


def read_at(effects: Effects, independent: Independence, shares: Floats, near: Fit | None = None) -> Reading:
    """The headline model on other contrasts, read at the given shares; no degrees at a share it does not have."""
    reading, own = refit(effects, independent, HEADLINE, near)
    at = np.searchsorted(own, shares)
    known = (at < len(own)) & (own[np.minimum(at, len(own) - 1)] == shares)
    at = np.minimum(at, len(own) - 1)
    return Reading(
        np.where(known, reading.mean[at], 0.0),
        np.where(known, reading.deviation[at], 1.0),
        np.where(known, reading.degrees[at], 0.0),
    )


def refit(
    effects: Effects, independent: Independence, form: Form, near: Fit | None = None
) -> tuple[Reading, Floats]:
    """(what a model of this form says, shares it says it at)."""
    design = headline_design(effects, independent, form)
    return read_series(estimate(design, near)), design.shares


def based_only(effects: Effects) -> Effects | None:
    """The contrasts without difference-only series; None where there are none of these."""
    return None if bool(effects.based.all()) else effects.chosen(effects.based)

"""The models of the comparison as layouts: which columns stand for shares, growers, series, clubs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Independence
from pipeline.compare.model.layout import Layout, nest, no_columns


@dataclass(frozen=True)
class Form:
    """Which random parts a model has; the headline has all. `fixed` is "shares" or "curve" (x and x squared)."""

    member: bool = True
    slope: bool = True
    series: bool = True
    mix: bool = True
    fixed: str = "shares"


HEADLINE = Form()
WITHOUT_SLOPE = Form(slope=False)
WITHOUT_MEMBER = Form(member=False, slope=False)


@dataclass(frozen=True)
class Design:
    """A layout with what its numbers stand for.

    effects: the contrasts in layout order; shares: percent of each share column; offsets: club offset columns behind
    the share columns; extras: further columns behind them; member_code: caller's number of each layout member; unit, group: independent unit and counted
    group of each layout member; slope: whether the members' slope in share is a column.
    """

    layout: Layout
    effects: Effects
    shares: Floats
    offsets: int
    extras: int
    member_code: Whole
    unit: Whole
    group: Whole
    slope: bool
    notes: tuple[str, ...]


def headline_design(
    effects: Effects, independent: Independence, form: Form = HEADLINE, extra: Floats | None = None
) -> Design:
    """Layout of one mean per share with the random parts of `form` that these contrasts can tell apart.

    `extra` (effect, column) adds fixed columns, such as a moderator's shift, behind the shares.
    """
    blocks = independent.block or independent.unit
    plain = independent.block is None
    block = np.array([member if plain else blocks[int(member)] for member in effects.member], dtype=np.int64)
    order, series, member, block_of = nest(effects.series, effects.member, block)
    effects = effects.chosen(order)
    shares = np.unique(np.concatenate([effects.share, effects.reference[effects.reference != 0]]))
    x = (effects.share - effects.reference) / 100.0
    based = effects.based.astype(np.float64)
    random, notes = _supported(form, effects, series, member)
    z_member = [based] * random.member + [x] * random.slope
    first = np.searchsorted(member[series], np.arange(len(block_of)))
    member_code = effects.member[first]
    offsets = _offset_columns(independent, effects.member, based)
    further = no_columns(len(x)) if extra is None else extra[order]
    layout = Layout(
        y=effects.y,
        X=np.column_stack([share_columns(effects, shares), offsets, further]),
        own_variance=effects.own_variance,
        reference_variance=effects.reference_variance,
        shared_filling=~effects.based,
        z_series=based[:, None] if random.series else no_columns(len(x)),
        z_member=np.column_stack(z_member) if z_member else no_columns(len(x)),
        z_club=no_columns(len(x)) if independent.block is None else based[:, None],
        with_mix=random.mix,
        series=series,
        member=member,
        block=block_of,
    )
    return Design(
        layout=layout,
        effects=effects,
        shares=shares,
        offsets=offsets.shape[1],
        extras=further.shape[1],
        member_code=member_code,
        unit=np.array([independent.unit[int(code)] for code in member_code], dtype=np.int64),
        group=np.array([independent.group[int(code)] for code in member_code], dtype=np.int64),
        slope=random.slope,
        notes=notes,
    )


def share_columns(effects: Effects, shares: Floats) -> Floats:
    """One column per share: 1 for the mix, -1 for a reference that is not the baseline."""
    mixes = (effects.share[:, None] == shares[None, :]).astype(np.float64)
    return np.asarray(mixes - (effects.reference[:, None] == shares[None, :]))


def _supported(form: Form, effects: Effects, series: Whole, member: Whole) -> tuple[Form, tuple[str, ...]]:
    """The random parts these contrasts can tell apart, and a sentence for each that had to be left out."""
    notes = []
    many_series = bool(np.any(np.bincount(member) > 1))
    many_mixes = bool(np.any(np.bincount(series) > 1))
    shares = len(np.unique(effects.share - effects.reference))
    with_series, with_mix, with_slope = form.series, form.mix, form.slope
    if with_series and not many_series and form.member:
        with_series = False
        notes.append(
            "No grower has two series, so spread between series is counted as spread between growers."
        )
    if with_mix and not many_mixes and (with_series or form.member):
        with_mix = False
        notes.append(
            "No series has two mixes, so the spread of single fillings is counted with that of series."
        )
    if with_slope and shares < 2:
        with_slope = False
        notes.append("Only one share was measured, so growers' slopes can't be told from their levels.")
    return Form(form.member, with_slope, with_series, with_mix, form.fixed), tuple(notes)


def _offset_columns(independent: Independence, member: Whole, based: Floats) -> Floats:
    """Fixed club offsets that add up to zero over clubs, so that share means weigh clubs equally."""
    if independent.offsets is None:
        return no_columns(len(member))
    club = np.array([independent.offsets.get(int(code), 0) for code in member], dtype=np.int64)
    clubs = max(independent.offsets.values()) + 1
    codes = np.vstack([np.eye(clubs - 1), -np.ones((1, clubs - 1))])
    return np.asarray(codes[club] * based[:, None])

"""Contrasts between cells: ln ratio of a mix to its own series' reference."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.contrasts.cells import Cells


@dataclass(frozen=True)
class Effects:
    """One entry per contrast. y: ln rate of the mix less that of the reference; reference: its share (0 = baseline).

    own_variance, reference_variance: pouring variance of each side; the second is shared by all of a series.
    """

    member: Whole
    series: Whole
    share: Floats
    reference: Floats
    y: Floats
    own_variance: Floats
    reference_variance: Floats
    pots: Whole
    reference_pots: Whole

    def chosen(self, rows: Flags | Whole) -> Effects:
        """Only these entries, in this order."""
        return Effects(**{field.name: getattr(self, field.name)[rows] for field in fields(self)})

    @property
    def based(self) -> Flags:
        """Contrasts with the series' own baseline, straight base."""
        return np.asarray(self.reference == 0.0)

    def __len__(self) -> int:
        return len(self.y)


def contrast(cells: Cells, pot_variance: float) -> Effects:
    """Contrasts of every timed cell with its series' reference: its baseline (share 0), or, in a series without one,
    its lowest share. Series with a single timed mix give none.

    Pouring variance of a cell mean: (pot_variance + floor of the clock) / pots; exact under log-normal run error.
    """
    timed = cells.chosen(cells.timed)
    if not len(timed.series):
        return _effects(timed, np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64), pot_variance)
    rank = np.where(timed.merged == 0.0, -np.inf, timed.merged)
    order = np.lexsort((timed.share, rank, timed.series))
    starts = np.r_[True, np.diff(timed.series[order]) != 0]
    reference_of = np.empty(len(order), dtype=np.int64)
    reference_of[order] = order[np.maximum.accumulate(np.where(starts, np.arange(len(order)), 0))]
    mixes = np.flatnonzero(timed.merged != timed.merged[reference_of])
    return _effects(timed, mixes, reference_of[mixes], pot_variance)


def _effects(timed: Cells, mixes: Whole, references: Whole, pot_variance: float) -> Effects:
    variance = (pot_variance + timed.floor) / np.maximum(timed.pots, 1)
    return Effects(
        member=timed.member[mixes],
        series=timed.series[mixes],
        share=timed.merged[mixes],
        reference=timed.merged[references],
        y=timed.mean[mixes] - timed.mean[references],
        own_variance=variance[mixes],
        reference_variance=variance[references],
        pots=timed.pots[mixes],
        reference_pots=timed.pots[references],
    )


def connected_rows(effects: Effects) -> Flags:
    """Contrasts whose shares hang together with the baseline through the series given; others can't be placed."""
    reached = {0.0}
    pairs = {(float(a), float(b)) for a, b in zip(effects.share, effects.reference, strict=True)}
    grown = True
    while grown:
        new = {p for pair in pairs for p in pair if (pair[0] in reached) != (pair[1] in reached)}
        grown = bool(new - reached)
        reached |= new
    return np.array([float(share) in reached for share in effects.share], dtype=bool)

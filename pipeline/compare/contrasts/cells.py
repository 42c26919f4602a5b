"""Cells (one mix in one series) and single runs: what contrasts and the censored likelihood are made from."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole


@dataclass(frozen=True)
class Cells:
    """One entry per mix and series, sorted by series, then share.

    member, series: numbers of the grower and of the series; share: percent as mixed; merged: the share it counts
    as; pots: separately filled pots with a rate; mean: mean ln rate; sum_squares: about that mean; floor: variance
    of one run from the step of the clock; stopped: pots whose clock was stopped early (these have no rate).
    """

    member: Whole
    series: Whole
    share: Floats
    merged: Floats
    pots: Whole
    mean: Floats
    sum_squares: Floats
    floor: Floats
    stopped: Whole

    def chosen(self, rows: Flags) -> Cells:
        """Only these entries."""
        return Cells(**{field.name: getattr(self, field.name)[rows] for field in fields(self)})

    @property
    def timed(self) -> Flags:
        """Cells with a rate from every pot."""
        return np.asarray((self.stopped == 0) & (self.pots > 0))


@dataclass(frozen=True)
class SingleRuns:
    """Runs of one pour state, stopped ones included. log_rate: where stopped, the rate its time would give, a bound
    from above. series, member: the numbers used in cells; share: merged."""

    member: Whole
    series: Whole
    share: Floats
    log_rate: Floats
    stopped: Flags

    def chosen(self, rows: Flags | Whole) -> SingleRuns:
        """Only these runs."""
        return SingleRuns(
            self.member[rows], self.series[rows], self.share[rows], self.log_rate[rows], self.stopped[rows]
        )


def measured_from(cells: Cells, against: float) -> Cells:
    """The same cells with shares counted from another mix, which takes the baseline's place at 0."""
    return replace(cells, share=cells.share - against, merged=np.round(cells.merged - against, 6))

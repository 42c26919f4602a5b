"""Runs laid out for the likelihood of stopped clocks: which runs take part, and who is independent of whom there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.contrasts.cells import SingleRuns
from pipeline.compare.contrasts.independence import Independence, Ties, independence
from pipeline.compare.random_level.stopped_pool import PooledRuns, StoppedPool, lay_out


@dataclass(frozen=True)
class StoppedDesign:
    """runs, pool: laid out for the likelihood; independent: who is independent of whom among those who tell a share."""

    runs: PooledRuns
    pool: StoppedPool
    independent: Independence

    @property
    def unit(self) -> Whole:
        """Independent unit of each member of the pool."""
        return np.array([self.independent.unit[int(code)] for code in self.pool.member_code], dtype=np.int64)

    def blocks_without(self, codes: tuple[int, ...]) -> Whole:
        """Blocks that go when these members are left out: all that hold one of them."""
        return np.unique(self.pool.member_block[np.isin(self.pool.member_code, codes)])

    def members_without(self, blocks: Whole) -> Flags:
        """Members whose block stays."""
        return ~np.isin(self.pool.member_block, blocks)


def stopped_design(
    singles: SingleRuns, shares: Floats, ties: Ties, run_variance: float
) -> StoppedDesign | None:
    """Runs at those of these shares that were timed at all; None where nobody tells any. `run_variance` is s_r squared."""
    runs = singles.chosen(taking_part(singles, shares))
    if not len(runs.member) or runs.stopped.all():
        return None
    by_member = PooledRuns(
        runs.member, runs.series, runs.member, runs.share, runs.log_rate, runs.stopped, fixed_club=False
    )
    alone = lay_out(by_member, run_variance)
    telling = alone.member_code[alone.informative.any(axis=1)].tolist()
    if not telling:
        return None
    independent = independence(alone.member_code.tolist(), ties, telling)
    if independent.block is None and independent.offsets is None:
        return StoppedDesign(by_member, alone, independent)
    clubs = independent.block if independent.block is not None else independent.offsets or {}
    club = np.array([clubs.get(int(code), 0) for code in runs.member], dtype=np.int64)
    laid = PooledRuns(
        runs.member,
        runs.series,
        club,
        runs.share,
        runs.log_rate,
        runs.stopped,
        fixed_club=independent.offsets is not None,
    )
    return StoppedDesign(laid, lay_out(laid, run_variance), independent)


def taking_part(singles: SingleRuns, shares: Floats) -> Flags:
    """Runs of series with two mixes, at the baseline or at one of these shares that was timed at all. A series whose every
    run was stopped stays: it says how slow levels are."""
    timed = np.unique(singles.share[~singles.stopped])
    keep = np.isin(singles.share, np.union1d([0.0], np.intersect1d(shares, timed)))
    for series in np.unique(singles.series[keep]):
        rows = keep & (singles.series == series)
        if len(np.unique(singles.share[rows])) < 2:
            keep = keep & ~rows
    return np.asarray(keep)

"""Runs laid out for the censored likelihood: which runs can tell a share, their columns, who is informative where."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.contrasts.cells import SingleRuns
from pipeline.compare.model.layout import nest
from pipeline.compare.model.prediction import NEEDED_FOR_MEAN
from pipeline.compare.stopped.mixed_likelihood import StoppedRuns


@dataclass(frozen=True)
class StoppedDesign:
    """runs: laid out for the likelihood; shares: percent of each column; member_code: caller's number of each member;
    informative: (member, share), whether the member's runs tell this share."""

    runs: StoppedRuns
    shares: Floats
    member_code: Whole
    informative: Flags

    def units_at(self, unit: Whole, kept: Flags) -> Floats:
        """How many independent units, among the kept members, are informative at each share."""
        return np.array(
            [len(np.unique(unit[kept & self.informative[:, column]])) for column in range(len(self.shares))],
            dtype=np.float64,
        )


def stopped_design(singles: SingleRuns, shares: Floats) -> StoppedDesign | None:
    """Runs at shares that enough growers timed; None where timed runs alone can't tell the shares apart."""
    keep = _tellable(singles, shares)
    if not keep.any():
        return None
    runs = singles.chosen(keep)
    order, series, member, _ = nest(runs.series, runs.member, runs.member)
    runs = runs.chosen(order)
    used = np.unique(runs.share[runs.share != 0])
    X = (runs.share[:, None] == used[None, :]).astype(np.float64)
    dummies = (series[:, None] == np.arange(len(member))[None, :]).astype(np.float64)
    seen = ~runs.stopped
    timed = np.column_stack([X, dummies])[seen]
    if np.linalg.matrix_rank(timed) < timed.shape[1]:
        return None
    level, x = (runs.share != 0).astype(np.float64), runs.share / 100.0
    laid = StoppedRuns(
        runs.log_rate, runs.stopped, X, _centred(level, series), _centred(x, series), series, member
    )
    first = np.searchsorted(series, np.searchsorted(member, np.arange(int(member[-1]) + 1)))
    return StoppedDesign(laid, used, runs.member[first], _informative(runs, series, member, used))


def _tellable(singles: SingleRuns, shares: Floats) -> Flags:
    """Runs of series with two mixes and a timed run, at the baseline or at shares that 3 growers timed."""
    seen = ~singles.stopped
    timed = [
        float(share)
        for share in shares
        if len(np.unique(singles.member[seen & (singles.share == share)])) >= NEEDED_FOR_MEAN
    ]
    keep = np.isin(singles.share, [0.0, *timed])
    for _ in range(2):
        for series in np.unique(singles.series[keep]):
            rows = keep & (singles.series == series)
            if not (rows & seen).any() or len(np.unique(singles.share[rows])) < 2:
                keep = keep & ~rows
    return keep


def _centred(column: Floats, series: Whole) -> Floats:
    return np.asarray(column - (np.bincount(series, weights=column) / np.bincount(series))[series])


def _informative(runs: SingleRuns, series: Whole, member: Whole, shares: Floats) -> Flags:
    """(member, share): the member has, in one series, a baseline and the share, at least one of the two timed."""
    informative = np.zeros((int(member[-1]) + 1, len(shares)), dtype=bool)
    for number in range(len(member)):
        inside = series == number
        base = inside & (runs.share == 0)
        if not base.any():
            continue
        for column, share in enumerate(shares):
            mixes = inside & (runs.share == share)
            if mixes.any() and not runs.stopped[base | mixes].all():
                informative[member[number], column] = True
    return informative

"""Single runs laid out for the random-level likelihood: blocks of growers, timed cells and stopped runs side by side.

Pots of one mix that all reached the mark are one number, their mean; a stopped run is a bound of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.compare.arrays import Flags, Floats, Whole

Pair = tuple[str, str]
BIG = 1e3
"""A bound that binds nothing, for padding."""


@dataclass(frozen=True)
class PooledRuns:
    """Runs of one pour state. log_rate: ln rate, a bound from above where stopped; share: percent, 0 for the baseline;
    club: number of the member's club (all different where clubs don't matter); fixed_club: clubs as fixed offsets of the
    ratio, adding up to 0, in place of random ones."""

    member: Whole
    series: Whole
    club: Whole
    share: Floats
    log_rate: Floats
    stopped: Flags
    fixed_club: bool = False


@dataclass(frozen=True)
class StoppedPool:
    """Observations padded to (block, row): timed cells first, stopped runs behind; a block is a club or a member.

    y: ln rate or bound; own: sampling variance (s_r squared over pots); X: level, shares, club offsets;
    timed_rows: how many columns hold timed cells; real: rows that are observations. parts: for each standard deviation its covariance pattern; pairs: for
    each pair of a level and a ratio effect the pattern of their covariance. shares: of the columns;
    informative: (member, share) both sides of a contrast in one series, not both stopped.
    """

    y: Floats
    own: Floats
    X: Floats
    timed_rows: int
    real: Flags
    parts: dict[str, Floats]
    pairs: dict[Pair, Floats]
    shares: Floats
    offsets: int
    member_code: Whole
    member_block: Whole
    member_club: Whole
    informative: Flags

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the standard deviations in the order of every vector of them."""
        return tuple(self.parts)


@dataclass(frozen=True)
class _Rows:
    member: Whole
    series: Whole
    club: Whole
    share: Floats
    y: Floats
    own: Floats
    stopped: Flags


def lay_out(runs: PooledRuns, run_variance: float) -> StoppedPool:
    """The runs as padded blocks; `run_variance` is s_r squared."""
    rows = _observations(runs, run_variance)
    shares = np.unique(rows.share[rows.share != 0])
    clubs, club = np.unique(rows.club, return_inverse=True)
    member_code, member = np.unique(rows.member, return_inverse=True)
    random_clubs = not runs.fixed_club and len(clubs) < len(member_code)
    block = club if random_clubs else member
    place, timed_rows, width = _places(block, rows.stopped)
    X = _fixed_columns(rows, shares, club if runs.fixed_club else None, len(clubs))
    blocks = int(block.max()) + 1

    def padded(values: Floats, blank: float) -> Floats:
        wide = np.full((blocks, width, *values.shape[1:]), blank)
        wide[block, place] = values
        return wide

    real = padded(np.ones(len(block)), 0.0) > 0
    parts, pairs = _patterns(rows, member, club if random_clubs else None, padded)
    y = padded(rows.y, 0.0)
    y[:, timed_rows:] = np.where(real[:, timed_rows:], y[:, timed_rows:], BIG)
    first = np.array([np.flatnonzero(member == one)[0] for one in range(len(member_code))])
    return StoppedPool(
        y=y,
        own=padded(rows.own, 1.0),
        X=padded(X, 0.0),
        timed_rows=timed_rows,
        real=real,
        parts=parts,
        pairs=pairs,
        shares=shares,
        offsets=len(clubs) - 1 if runs.fixed_club else 0,
        member_code=member_code,
        member_block=block[first],
        member_club=club[first],
        informative=_informative(rows, member, shares),
    )


def _observations(runs: PooledRuns, run_variance: float) -> _Rows:
    """Timed pots of a cell as their mean, every stopped run by itself; timed cells first."""
    seen = ~runs.stopped
    keys, cell = np.unique(np.column_stack([runs.series, runs.share])[seen], axis=0, return_inverse=True)
    pots = np.bincount(cell, minlength=len(keys))
    mean = np.bincount(cell, weights=runs.log_rate[seen], minlength=len(keys)) / pots
    first = np.array([np.flatnonzero(cell == one)[0] for one in range(len(keys))], dtype=np.int64)
    stopped = runs.stopped

    def both(values: Floats | Whole) -> NDArray[np.generic]:
        return np.concatenate([values[seen][first], values[stopped]])

    return _Rows(
        member=np.asarray(both(runs.member), dtype=np.int64),
        series=np.asarray(both(runs.series), dtype=np.int64),
        club=np.asarray(both(runs.club), dtype=np.int64),
        share=np.asarray(both(runs.share), dtype=np.float64),
        y=np.concatenate([mean, runs.log_rate[stopped]]),
        own=np.concatenate([run_variance / pots, np.full(int(stopped.sum()), run_variance)]),
        stopped=np.concatenate([np.zeros(len(keys), dtype=bool), np.ones(int(stopped.sum()), dtype=bool)]),
    )


def _places(block: Whole, stopped: Flags) -> tuple[Whole, int, int]:
    """(column of each row in its block, columns of timed cells, all columns)."""
    blocks = int(block.max()) + 1
    timed_rows = int(np.bincount(block[~stopped], minlength=blocks).max(initial=1))
    place = np.zeros(len(block), dtype=np.int64)
    for kind, start in ((~stopped, 0), (stopped, timed_rows)):
        at = np.flatnonzero(kind)
        order = at[np.argsort(block[at], kind="stable")]
        sizes = np.bincount(block[at], minlength=blocks)
        place[order] = start + np.arange(len(at)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    return place, timed_rows, timed_rows + int(np.bincount(block[stopped], minlength=blocks).max(initial=0))


def _fixed_columns(rows: _Rows, shares: Floats, club: Whole | None, clubs: int) -> Floats:
    columns = [np.ones((len(rows.y), 1)), (rows.share[:, None] == shares).astype(np.float64)]
    if club is not None and clubs > 1:
        codes = np.vstack([np.eye(clubs - 1), -np.ones((1, clubs - 1))])
        columns.append(codes[club] * (rows.share != 0)[:, None])
    return np.hstack(columns)


def _patterns(
    rows: _Rows, member: Whole, club: Whole | None, padded: Callable[[Floats, float], Floats]
) -> tuple[dict[str, Floats], dict[Pair, Floats]]:
    """Covariance pattern of every effect that these runs can tell apart. With one series for every member a member's
    level is its series' level."""
    ones, mixes = np.ones(len(rows.y)), (rows.share != 0).astype(np.float64)
    x = rows.share / 100.0
    cell = np.unique(np.column_stack([rows.series, rows.share]), axis=0, return_inverse=True)[1]
    several = len(np.unique(rows.series)) > len(np.unique(member))
    effects: list[tuple[str, Whole, Floats]] = [
        ("level_series", rows.series, ones),
        *([("level_member", member, ones)] if several else []),
        *([("level_club", club, ones)] if club is not None else []),
        ("member", member, mixes),
        *([("slope", member, x)] if len(np.unique(rows.share[rows.share != 0])) > 1 else []),
        *([("series", rows.series, mixes)] if several else []),
        ("mix", cell, mixes),
        *([("club", club, mixes)] if club is not None else []),
    ]
    wide = {name: (padded(label.astype(np.float64), -1.0), padded(z, 0.0)) for name, label, z in effects}
    wanted = [("level_series", "series" if several else "member")]
    wanted += [("level_member", "member")] * several + [("level_club", "club")] * (club is not None)
    parts = {name: _together(label, z, z) for name, (label, z) in wide.items()}
    pairs = {}
    for level, ratio in wanted:
        label, z = wide[level]
        cross = _together(label, z, wide[ratio][1])
        pairs[level, ratio] = cross + np.swapaxes(cross, 1, 2)
    return parts, pairs


def _together(label: Floats, one: Floats, other: Floats) -> Floats:
    """Products of two columns for rows of one label, per block."""
    return np.asarray(one[:, :, None] * other[:, None, :] * (label[:, :, None] == label[:, None, :]))


def _informative(rows: _Rows, member: Whole, shares: Floats) -> Flags:
    """(member, share): in one series a baseline and the share, at least one of the two timed."""
    result = np.zeros((int(member.max()) + 1, len(shares)), dtype=bool)
    for series in np.unique(rows.series):
        inside = rows.series == series
        base = inside & (rows.share == 0)
        for column, share in enumerate(shares):
            both = inside & (rows.share == share)
            if base.any() and both.any() and not rows.stopped[base | both].all():
                result[member[inside][0], column] = True
    return result

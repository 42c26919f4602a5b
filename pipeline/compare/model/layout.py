"""How effects are laid out for the nested models: rows in series, series in members, members in clubs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.compare.arrays import Flags, Floats, Whole


@dataclass(frozen=True)
class Layout:
    """Effects sorted so that a series, a member and a top block (club, or member alone) are each one run of rows.

    y: ln ratio to the series' reference mix; X: fixed-effect columns.
    own_variance, reference_variance: known sampling variance, V = diag(own) + reference inside a series.
    shared_filling: True where the reference's own filling error is shared by the series' rows (K = I + 11').
    z_series, z_member, z_club: one column per random effect of that level; no column, no such effect.
    with_mix: whether the filling error of a mix is estimated.
    series: series of each row; member: member of each series; block: top block of each member; all rising from 0.
    """

    y: Floats
    X: Floats
    own_variance: Floats
    reference_variance: Floats
    shared_filling: Flags
    z_series: Floats
    z_member: Floats
    z_club: Floats
    with_mix: bool
    series: Whole
    member: Whole
    block: Whole

    @property
    def row_member(self) -> Whole:
        """Member of each row."""
        return self.member[self.series]

    @property
    def row_block(self) -> Whole:
        """Top block of each row."""
        return self.block[self.row_member]

    @property
    def members(self) -> int:
        """Number of members."""
        return len(self.block)

    @property
    def variance_names(self) -> tuple[str, ...]:
        """Names of the variances in the order every variance vector keeps them."""
        return (
            *(f"member_{j}" for j in range(self.z_member.shape[1])),
            *(f"series_{j}" for j in range(self.z_series.shape[1])),
            *(("mix",) if self.with_mix else ()),
            *(f"club_{j}" for j in range(self.z_club.shape[1])),
        )

    def split(self, variances: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Variances along the last axis as (member, series, mix, club); mix is 0 where it is not estimated."""
        member = self.z_member.shape[1]
        series = member + self.z_series.shape[1]
        mix = series + int(self.with_mix)
        filling = variances[..., series:mix]
        if not self.with_mix:
            filling = np.zeros((*variances.shape[:-1], 1))
        return variances[..., :member], variances[..., member:series], filling, variances[..., mix:]


def with_blocks(layout: Layout, kept: Flags) -> Layout:
    """The layout of some of the top blocks alone."""
    rows, series = kept[layout.row_block], kept[layout.block[layout.member]]
    return Layout(
        y=layout.y[rows],
        X=layout.X[rows],
        own_variance=layout.own_variance[rows],
        reference_variance=layout.reference_variance[rows],
        shared_filling=layout.shared_filling[rows],
        z_series=layout.z_series[rows],
        z_member=layout.z_member[rows],
        z_club=layout.z_club[rows],
        with_mix=layout.with_mix,
        series=rising_codes(layout.series[rows]),
        member=rising_codes(layout.member[series]),
        block=rising_codes(layout.block[kept[layout.block]]),
    )


def columns(*values: Floats) -> Floats:
    """Column vectors side by side."""
    return np.column_stack(values).astype(np.float64)


def no_columns(rows: int) -> Floats:
    """Zero columns: that level has no random effect."""
    return np.zeros((rows, 0))


def rising_codes(*keys: NDArray[np.generic]) -> Whole:
    """Codes 0, 1, 2 … of runs of equal keys; the keys must already be sorted together."""
    changed = np.zeros(len(keys[0]), dtype=np.int64)
    for key in keys:
        changed[1:] |= key[1:] != key[:-1]
    return np.cumsum(changed)


def nest(
    series: NDArray[np.generic], member: NDArray[np.generic], block: NDArray[np.generic]
) -> tuple[Whole, Whole, Whole, Whole]:
    """(order, series of each row, member of each series, block of each member) for labels given per row.

    `order` sorts the rows by block, member and series and keeps the given order inside a series.
    """
    order = np.lexsort((np.arange(len(series)), series, member, block))
    blocks = rising_codes(block[order])
    members = rising_codes(block[order], member[order])
    rows = rising_codes(block[order], member[order], series[order])
    first_row_of_series = np.searchsorted(rows, np.arange(rows[-1] + 1 if len(rows) else 0))
    member_of_series = members[first_row_of_series]
    first_row_of_member = np.searchsorted(members, np.arange(members[-1] + 1 if len(members) else 0))
    return order, rows, member_of_series, blocks[first_row_of_member]

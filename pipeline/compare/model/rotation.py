"""A layout made ready for repeated evaluation: every series turned so that any filling variance keeps it diagonal.

Per series the known covariance V and the filling pattern K are diagonalised once (methods note, section 13).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.model.layout import Layout


@dataclass(frozen=True)
class SizeGroup:
    """Series with the same number of effects: where they stand, rotated columns, eigenvalues of the filling pattern."""

    positions: Whole
    rotated: Floats
    filling: Floats


@dataclass(frozen=True)
class ColumnShape:
    """Per fit: fixed-effect columns with a row, ridge of columns that only differences tell, rows, ln|X'X|."""

    present: Flags
    ridge: Floats
    rows: Floats
    log_cross: Floats


@dataclass(frozen=True)
class Reduced:
    """A layout made ready for repeated evaluation."""

    layout: Layout
    groups: tuple[SizeGroup, ...]
    log_determinant: Floats
    first_series: Whole
    first_member: Whole
    fixed: int
    cross_products: Floats
    rows_per_member: Floats
    lone_rows: Floats
    every: ColumnShape


def reduce_layout(layout: Layout) -> Reduced:
    """Rotates every series once so that its covariance is diagonal for any filling variance."""
    all_columns = np.column_stack([layout.X, layout.y, layout.z_club, layout.z_member, layout.z_series])
    sizes = np.bincount(layout.series)
    first_row = np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.int64)
    log_determinant = np.zeros(len(sizes))
    groups = []
    for size in np.unique(sizes):
        positions = np.flatnonzero(sizes == size)
        rows = first_row[positions][:, None] + np.arange(size)[None, :]
        group, half = _rotate(layout, all_columns, rows, positions)
        log_determinant[positions] = half
        groups.append(group)
    row_member = layout.row_member
    members = layout.members
    first_of_member = np.searchsorted(row_member, np.arange(members))
    outer = layout.X[:, :, None] * layout.X[:, None, :]
    cross = np.add.reduceat(outer, first_of_member, axis=0)
    rows_per_member = np.bincount(row_member, minlength=members).astype(np.float64)
    lone = np.add.reduceat(_lone(layout), first_of_member, axis=0)
    return Reduced(
        layout=layout,
        groups=tuple(groups),
        log_determinant=log_determinant,
        first_series=np.searchsorted(layout.member, np.arange(members)),
        first_member=np.searchsorted(layout.block, np.arange(layout.block[-1] + 1)),
        fixed=layout.X.shape[1],
        cross_products=cross,
        rows_per_member=rows_per_member,
        lone_rows=lone,
        every=column_shape(cross, rows_per_member, lone, np.ones((1, members))),
    )


def column_shape(cross: Floats, rows: Floats, lone: Floats, weights: Floats) -> ColumnShape:
    """Shape of the fixed-effect columns when members are weighted by 0 or 1 (fit, member).

    A share that is left only as part of differences between shares can't be told apart from them: it gets a
    small ridge, which changes no share that stands on rows of its own.
    """
    cross = np.einsum("fm,mij->fij", weights, cross)
    size = np.einsum("fjj->fj", cross)
    present = np.asarray(size > 0)
    p = size.shape[1]
    length = np.sqrt(np.where(present, size, 1.0))
    scaled = cross / (length[:, :, None] * length[:, None, :]) + np.eye(p) * ~present[:, None, :]
    tied = np.linalg.eigvalsh(scaled)[:, :1] < 1e-9 if p else np.zeros((len(cross), 1), dtype=bool)
    alone = np.einsum("fm,mj->fj", weights, lone) > 0
    ridge = np.where(tied & present & ~alone, 1e-9, 0.0)
    filled = cross + np.eye(p) * (~present + ridge * size)[:, None, :]
    return ColumnShape(present, ridge, weights @ rows, np.linalg.slogdet(filled)[1])


def _lone(layout: Layout) -> Floats:
    """1 where a row tells one fixed-effect column by itself, no other subtracted."""
    informative = layout.X != 0
    return np.asarray(informative & (informative.sum(axis=1) == 1)[:, None], dtype=np.float64)


def _rotate(layout: Layout, all_columns: Floats, rows: Whole, positions: Whole) -> tuple[SizeGroup, Floats]:
    size = rows.shape[1]
    identity = np.eye(size)
    covariance = layout.own_variance[rows][:, :, None] * identity
    covariance += layout.reference_variance[rows][:, :1, None]
    pattern = identity + layout.shared_filling[rows][:, :1, None].astype(np.float64)
    lower = np.linalg.cholesky(covariance)
    white = np.linalg.solve(lower, all_columns[rows])
    half_pattern = np.linalg.solve(lower, pattern)
    inner = np.linalg.solve(lower, np.swapaxes(half_pattern, -1, -2))
    filling, axes = np.linalg.eigh(0.5 * (inner + np.swapaxes(inner, -1, -2)))
    rotated = np.swapaxes(axes, -1, -2) @ white
    log_determinant = 2.0 * np.log(np.diagonal(lower, axis1=-2, axis2=-1)).sum(axis=-1)
    return SizeGroup(positions, rotated, filling), log_determinant

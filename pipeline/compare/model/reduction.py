"""The per-series reduction: every likelihood evaluation costs one pass over the series, never a large matrix.

Per series the known covariance V and the filling pattern K are diagonalised once; each evaluation then forms small
cross-product matrices and sweeps out the random effects of series, member and club in turn. Derivatives ride along.
Formulas: the project's methods note, section 13 (block elimination; Woodbury identity for each level).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.model.layout import Layout
from pipeline.compare.model.rotation import Reduced


@dataclass(frozen=True)
class Sums:
    """Cross products of [X | y] weighted by the inverse covariance, its log determinant, and their derivatives.

    Leading axis: one entry per fit. `matrix` (fit, c, c), `log_determinant` (fit), `d_matrix` (variance, fit, c, c),
    `d_log_determinant` (variance, fit); variances in the order of `Layout.variance_names`.
    """

    matrix: Floats
    log_determinant: Floats
    d_matrix: Floats
    d_log_determinant: Floats


@dataclass(frozen=True)
class Reach:
    """What one variance touches: per unit (row, series, member or club) the vector u = [X | y | …]' M^-1 z and the
    number z' M^-1 z. The derivative of the cross products is -sum u u', of the log determinant sum z' M^-1 z.

    `unit` gives the member (below the club level) or the top block of each unit.
    """

    vectors: Floats
    own: Floats
    unit: Whole


@dataclass(frozen=True)
class Parts:
    """Sums per fit and unit (member, or top block), before adding up, with the reach of every variance."""

    matrix: Floats
    log_determinant: Floats
    reaches: tuple[Reach, ...]


def evaluate(reduced: Reduced, variances: Floats, weights: Floats | None = None) -> Sums:
    """Sums over all series at each row of `variances` (fit, variance).

    `weights` (fit, member) of 0 and 1 leaves members out; None keeps all.
    """
    return add_up(reduced, block_parts(reduced, variances, member_parts(reduced, variances), weights))


def add_up(reduced: Reduced, parts: Parts) -> Sums:
    """Block parts added over all blocks."""
    fits, kept = len(parts.matrix), parts.matrix.shape[-1]
    d_matrix = np.zeros((len(parts.reaches), fits, kept, kept))
    for k, reach in enumerate(parts.reaches):
        d_matrix[k] = -(np.swapaxes(reach.vectors, -1, -2) @ reach.vectors)
    d_log = np.array([reach.own.sum(axis=1) for reach in parts.reaches]).reshape(len(parts.reaches), fits)
    order = _derivative_order(reduced.layout)
    return Sums(parts.matrix.sum(axis=1), parts.log_determinant.sum(axis=1), d_matrix[order], d_log[order])


def _derivative_order(layout: Layout) -> list[int]:
    """Sweeping collects reaches as mix, series, member, club; variance vectors keep member, series, mix, club."""
    mix, series, member = int(layout.with_mix), layout.z_series.shape[1], layout.z_member.shape[1]
    club = layout.z_club.shape[1]
    start_member = mix + series
    return [
        *range(start_member, start_member + member),
        *range(mix, mix + series),
        *range(mix),
        *range(start_member + member, start_member + member + club),
    ]


def member_parts(reduced: Reduced, variances: Floats) -> Parts:
    """Parts per fit and member, effects of series and member swept out."""
    layout = reduced.layout
    member, series, filling, _ = layout.split(variances)
    matrix, log_determinant, mixes = _series_products(reduced, filling)
    everyone = np.arange(len(reduced.first_series))
    parts = _sweep(Parts(matrix, log_determinant, mixes), series, np.arange(len(layout.member)))
    reaches = tuple(Reach(reach.vectors, reach.own, layout.member[reach.unit]) for reach in parts.reaches)
    first = reduced.first_series
    summed = Parts(
        np.add.reduceat(parts.matrix, first, axis=1),
        np.add.reduceat(parts.log_determinant, first, axis=1),
        reaches,
    )
    return _sweep(summed, member, everyone)


def block_parts(reduced: Reduced, variances: Floats, parts: Parts, weights: Floats | None = None) -> Parts:
    """Parts per fit and top block from those per member, members weighted by 0 or 1, club effects swept out."""
    *_, club = reduced.layout.split(variances)
    if weights is not None:
        parts = Parts(
            parts.matrix * weights[:, :, None, None],
            parts.log_determinant * weights,
            tuple(
                Reach(
                    reach.vectors * weights[:, reach.unit, None],
                    reach.own * weights[:, reach.unit],
                    reach.unit,
                )
                for reach in parts.reaches
            ),
        )
    first, block = reduced.first_member, reduced.layout.block
    if len(first) == len(block):
        return _sweep(parts, club, block)
    reaches = tuple(Reach(reach.vectors, reach.own, block[reach.unit]) for reach in parts.reaches)
    matrix = np.add.reduceat(parts.matrix, first, axis=1)
    log_determinant = np.add.reduceat(parts.log_determinant, first, axis=1)
    return _sweep(Parts(matrix, log_determinant, reaches), club, np.arange(len(first)))


def _series_products(reduced: Reduced, filling: Floats) -> tuple[Floats, Floats, tuple[Reach, ...]]:
    """Cross products per fit and series at each filling variance (fit, 1), with what the filling variance reaches."""
    fits, series = len(filling), len(reduced.log_determinant)
    width = reduced.groups[0].rotated.shape[2]
    matrix = np.empty((fits, series, width, width))
    log_determinant = np.empty((fits, series))
    vectors, own, unit = [], [], []
    for group in reduced.groups:
        scale = 1.0 / (1.0 + filling[:, :, None] * group.filling[None])
        weighted = group.rotated[None] * scale[..., None]
        matrix[:, group.positions] = np.swapaxes(group.rotated, -1, -2)[None] @ weighted
        log_determinant[:, group.positions] = reduced.log_determinant[group.positions] - np.log(scale).sum(
            axis=-1
        )
        if reduced.layout.with_mix:
            vectors.append((weighted * np.sqrt(group.filling)[None, ..., None]).reshape(fits, -1, width))
            own.append((group.filling[None] * scale).reshape(fits, -1))
            unit.append(np.repeat(group.positions, group.filling.shape[1]))
    if not vectors:
        return matrix, log_determinant, ()
    reach = Reach(np.concatenate(vectors, axis=1), np.concatenate(own, axis=1), np.concatenate(unit))
    return matrix, log_determinant, (reach,)


def _sweep(parts: Parts, variance: Floats, unit: Whole) -> Parts:
    """Takes out the last columns, random effects with these variances (fit, q); adds what they reach.

    Safe at variance 0: A' = A_rr - A_rz G (I + A_zz G)^-1 A_zr.
    """
    taken = variance.shape[-1]
    if taken == 0:
        return parts
    matrix, size = parts.matrix, variance[:, None, None, :]
    kept = matrix.shape[-1] - taken
    cross, inner = matrix[..., :kept, kept:], matrix[..., kept:, kept:]
    inverse, determinant = _inverse(np.eye(taken) + inner * size)
    pull = (cross * size) @ inverse
    shrink = np.swapaxes(size, -1, -2) * inverse
    reach = cross @ np.swapaxes(inverse, -1, -2)
    own = np.einsum("...ij,...ji->...i", inverse, inner)
    swept = matrix[..., :kept, :kept] - pull @ np.swapaxes(cross, -1, -2)
    carried = tuple(_carried(lower, pull, shrink, kept) for lower in parts.reaches)
    added = tuple(Reach(reach[..., j], own[..., j], unit) for j in range(taken))
    return Parts(swept, parts.log_determinant + np.log(determinant), carried + added)


def _inverse(system: Floats) -> tuple[Floats, Floats]:
    """Inverse and determinant of many small matrices."""
    if system.shape[-1] == 1:
        return np.asarray(1.0 / system, dtype=np.float64), system[..., 0, 0]
    if system.shape[-1] > 2:
        return np.asarray(np.linalg.inv(system), dtype=np.float64), np.asarray(
            np.linalg.det(system), dtype=np.float64
        )
    a, b, c, d = system[..., 0, 0], system[..., 0, 1], system[..., 1, 0], system[..., 1, 1]
    determinant = a * d - b * c
    turned = np.stack([np.stack([d, -b], axis=-1), np.stack([-c, a], axis=-1)], axis=-2)
    return turned / determinant[..., None, None], determinant


def _carried(lower: Reach, pull: Floats, shrink: Floats, kept: int) -> Reach:
    """A reach of a lower level after the columns of this level are swept out."""
    outer = lower.vectors[..., kept:]
    vectors = lower.vectors[..., :kept].copy()
    own = lower.own
    for j in range(outer.shape[-1]):
        vectors -= pull[..., j][:, lower.unit] * outer[..., j, None]
        shrunk = sum(shrink[..., j, k][:, lower.unit] * outer[..., k] for k in range(outer.shape[-1]))
        own = own - outer[..., j] * shrunk
    return Reach(vectors, own, lower.unit)

"""Refits without some members: each member, club or shared lot in turn, from sums of the members that stay.

Up to `REFIT_UP_TO` members the variances are estimated anew in every refit, all refits side by side; beyond, they are
held at the full fit's values and each refit is the full sums less those of the members left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.model.likelihood import Likelihood, from_sums
from pipeline.compare.model.reduction import Parts, Sums, add_up, block_parts, member_parts
from pipeline.compare.model.reml import DIFFERENCE_STEP, Fit, fit_reduced, variance_scale
from pipeline.compare.model.rotation import Reduced

REFIT_UP_TO = 100
STEPS = 25
SETTLED = 1e-9
LOSS_ALLOWED = 1e-9
CHUNK_NUMBERS = 4_000_000


@dataclass(frozen=True)
class Refits:
    """One entry per set left out: variances, means, their covariance, restricted log-likelihood."""

    variances: Floats
    coefficients: Floats
    covariance: Floats
    log_likelihood: Floats
    variances_held: bool


def refit_without(fit: Fit, left_out: list[Whole]) -> Refits:
    """Refits of the model without each set of members (member numbers of the layout)."""
    members = fit.layout.members
    weights = np.ones((len(left_out), members))
    for row, chosen in enumerate(left_out):
        weights[row, chosen] = 0.0
    if not left_out:
        p, k = fit.reduced.fixed, len(fit.variances)
        return Refits(np.zeros((0, k)), np.zeros((0, p)), np.zeros((0, p, p)), np.zeros(0), False)
    if members > REFIT_UP_TO:
        return _downdated(fit, weights)
    width = fit.reduced.fixed + fit.layout.z_member.shape[1] + 3
    per_fit = len(fit.layout.y) * width + len(fit.layout.member) * width * width
    chunk = max(1, CHUNK_NUMBERS // per_fit)
    pieces = [_refitted(fit, weights[start : start + chunk]) for start in range(0, len(weights), chunk)]
    return Refits(
        variances=np.concatenate([piece.variances for piece in pieces]),
        coefficients=np.concatenate([piece.coefficients for piece in pieces]),
        covariance=np.concatenate([piece.covariance for piece in pieces]),
        log_likelihood=np.concatenate([piece.log_likelihood for piece in pieces]),
        variances_held=False,
    )


def _refitted(fit: Fit, weights: Floats) -> Refits:
    """Variances estimated anew in every row of `weights`, starting from the full fit."""
    reduced, fits = fit.reduced, len(weights)
    variances = np.repeat(fit.variances[None], fits, axis=0)
    here = _likelihood(reduced, fit.variances[None], weights)
    scale = variance_scale(reduced)
    slopes = _slopes(fit, weights, scale)
    settled = np.zeros(fits, dtype=bool) if len(scale) else np.ones(fits, dtype=bool)
    stuck = np.zeros(fits, dtype=bool)
    for _ in range(STEPS):
        moving = np.flatnonzero(~settled & ~stuck)
        if not len(moving):
            break
        step = _steps(variances[moving], here.score[moving], slopes[moving])
        moved, there = _uphill(reduced, weights[moving], variances[moving], here.value[moving], step)
        move = moved - variances[moving]
        gained = there.score - here.score[moving]
        change = np.max(np.abs(move), axis=1) / np.maximum(np.max(moved, axis=1), 1e-300)
        slopes[moving] = _updated(slopes[moving], move, gained)
        stuck[moving] = there.value < here.value[moving] - LOSS_ALLOWED
        variances[moving] = moved
        _store(here, moving, there)
        settled[moving] = (change < SETTLED) & _stationary(moved, there.score, scale)
    for row in np.flatnonzero(~settled):
        again = fit_reduced(reduced, weights=weights[row : row + 1])
        variances[row], here.value[row] = again.variances, again.log_likelihood
        here.coefficients[row], here.covariance[row] = again.coefficients, again.covariance
    return Refits(variances, here.coefficients, here.covariance, here.value, variances_held=False)


def _likelihood(reduced: Reduced, variances: Floats, weights: Floats) -> Likelihood:
    parts = member_parts(reduced, variances)
    return from_sums(reduced, add_up(reduced, block_parts(reduced, variances, parts, weights)), weights)


def _store(here: Likelihood, rows: Whole, there: Likelihood) -> None:
    for name in ("value", "score", "coefficients", "covariance"):
        getattr(here, name)[rows] = getattr(there, name)


def _slopes(fit: Fit, weights: Floats, scale: Floats) -> Floats:
    """Second derivatives of every refit's likelihood at the full fit's variances, by differences of the score."""
    count = len(scale)
    slopes = np.zeros((len(weights), count, count))
    for j in range(count):
        step = DIFFERENCE_STEP * max(fit.variances[j], 0.05 * scale[j])
        ends = []
        for move in (step, -min(step, fit.variances[j])):
            point = fit.variances.copy()
            point[j] += move
            ends.append((move, _likelihood(fit.reduced, point[None], weights).score))
        slopes[:, j] = (ends[0][1] - ends[1][1]) / (ends[0][0] - ends[1][0])
    return 0.5 * (slopes + np.swapaxes(slopes, -1, -2))


def _steps(variances: Floats, score: Floats, slopes: Floats) -> Floats:
    """Newton steps on the free variances of each refit, always uphill. A variance that its step would take below 0
    stops there, and the others move as is best with it at 0."""
    free = (variances > 0) | (score > 0)
    step = np.zeros_like(variances)
    for _ in range(variances.shape[1] + 1):
        step = np.where(
            free, _solved(score + np.einsum("fij,fj->fi", slopes, step * ~free), slopes, free), step
        )
        below = free & (variances + step < 0)
        if not below.any():
            break
        step = np.where(below, -variances, step)
        free = free & ~below
    return step


def _solved(score: Floats, slopes: Floats, free: Flags) -> Floats:
    """Newton steps on the free variances alone, directions of wrong curvature turned uphill."""
    both = free[:, :, None] & free[:, None, :]
    fixed = np.eye(free.shape[1]) * ~free[:, None, :]
    curvature = (
        np.where(both, -slopes, 0.0) + fixed * np.max(np.abs(slopes), axis=(1, 2), initial=0.0)[:, None, None]
    )
    values, axes = np.linalg.eigh(curvature)
    values = np.maximum(np.abs(values), 1e-8 * np.max(np.abs(values), axis=1, keepdims=True))
    turned = np.einsum("fji,fj->fi", axes, np.where(free, score, 0.0))
    return np.asarray(np.einsum("fij,fj->fi", axes, turned / np.maximum(values, 1e-300)))


def _uphill(
    reduced: Reduced, weights: Floats, variances: Floats, value: Floats, step: Floats
) -> tuple[Floats, Likelihood]:
    """Where each step ends, cut back at 0 and halved while it loses likelihood."""
    moved = np.maximum(variances + step, 0.0)
    there = _likelihood(reduced, moved, weights)
    for _ in range(10):
        lost = np.flatnonzero(there.value < value - LOSS_ALLOWED)
        if not len(lost):
            break
        step[lost] *= 0.5
        moved[lost] = np.maximum(variances[lost] + step[lost], 0.0)
        _store(there, lost, _likelihood(reduced, moved[lost], weights[lost]))
    return moved, there


def _updated(slopes: Floats, move: Floats, gained: Floats) -> Floats:
    """Symmetric rank-one update of the second derivatives after a move."""
    error = gained - np.einsum("fij,fj->fi", slopes, move)
    size = np.einsum("fi,fi->f", error, move)
    bound = 1e-8 * np.linalg.norm(error, axis=1) * np.linalg.norm(move, axis=1)
    use = np.abs(size) > np.maximum(bound, 1e-300)
    safe = np.where(use, size, 1.0)
    return np.asarray(
        slopes + use[:, None, None] * error[:, :, None] * error[:, None, :] / safe[:, None, None]
    )


def _stationary(variances: Floats, score: Floats, scale: Floats) -> Flags:
    """Whether no variance at 0 wants to rise and no other has a slope left."""
    pull = np.where(variances > 0, np.abs(score), np.maximum(score, 0.0)) * scale
    return np.asarray(np.max(pull, axis=1) < 1e-4)


def _downdated(fit: Fit, weights: Floats) -> Refits:
    """Refits with the full fit's variances: full sums less those of the blocks touched, plus what stays of them."""
    reduced, block = fit.reduced, fit.layout.block
    variances = fit.variances[None]
    members = member_parts(reduced, variances)
    members = Parts(members.matrix, members.log_determinant, ())
    blocks = block_parts(reduced, variances, members)
    matrix = np.repeat(blocks.matrix.sum(axis=1), len(weights), axis=0)
    log_determinant = np.repeat(blocks.log_determinant.sum(axis=1), len(weights))
    club = len(reduced.first_member) < len(block)
    for row, weight in enumerate(weights):
        touched = np.unique(block[weight == 0.0])
        matrix[row] -= blocks.matrix[0, touched].sum(axis=0)
        log_determinant[row] -= blocks.log_determinant[0, touched].sum()
        if club and np.any((weight > 0) & np.isin(block, touched)):
            left = block_parts(reduced, variances, members, weight[None])
            matrix[row] += left.matrix[0, touched].sum(axis=0)
            log_determinant[row] += left.log_determinant[0, touched].sum()
    width = matrix.shape[-1]
    sums = Sums(
        matrix, log_determinant, np.zeros((0, len(weights), width, width)), np.zeros((0, len(weights)))
    )
    here = from_sums(reduced, sums, weights)
    held = np.repeat(variances, len(weights), axis=0)
    return Refits(held, here.coefficients, here.covariance, here.value, variances_held=True)

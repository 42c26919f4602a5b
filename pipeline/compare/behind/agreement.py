"""How consistent growers are: ISO 5725-2 moments, Mandel's h and k, robust location, deletion z of each grower.

Sources (from memory): ISO 5725-2 for s_r, s_L, s_R, h and k; ISO 13528 annex C for algorithm A and z scores. The
deletion z is the project's methods note, section 10.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.model.layout import Layout
from pipeline.compare.model.leave_out import Refits
from pipeline.compare.model.robust import covariance_blocks

CLIP = 1.5
SPREAD_FACTOR = 1.134
MEDIAN_FACTOR = 1.483
LABS_FOR_SCORES = 5


@dataclass(frozen=True)
class Laboratories:
    """Repeatability, between-laboratory spread, reproducibility; Mandel's h and k per laboratory.

    s_between is ISO's s_L, s_reproducibility its s_R. s_r is None where nothing is repeated: then s_R is the spread of
    the single values. s_L is None below 3 laboratories.
    """

    mean: float
    s_r: float | None
    s_between: float | None
    s_reproducibility: float | None
    per_cell: float
    h: Floats
    k: Floats


def laboratories(values: Floats, laboratory: Whole) -> Laboratories:
    """ISO 5725-2 moments of single values on the ln scale; `laboratory` numbers series (or growers)."""
    labs, position = np.unique(laboratory, return_inverse=True)
    n = np.bincount(position, minlength=len(labs)).astype(np.float64)
    means = np.bincount(position, weights=values) / n
    squares = np.bincount(position, weights=(values - means[position]) ** 2).astype(np.float64)
    return laboratory_moments(n, means, squares)


def laboratory_moments(
    n: Floats, means: Floats, squares: Floats, repeats: Floats | None = None
) -> Laboratories:
    """The same from each laboratory's number of values, mean, and sum of squares of repeats; `repeats`: degrees of freedom
    of that sum, n - 1 where every value repeats the same thing."""
    repeats = n - 1 if repeats is None else repeats
    degrees, total, count = float(repeats.sum()), float(n.sum()), len(n)
    grand = float((n * means).sum() / total)
    spread = float(means.std(ddof=1)) if count > 1 else 0.0
    h = (means - means.mean()) / spread if spread > 0 else np.zeros(count)
    cell = np.sqrt(squares / np.maximum(repeats, 1))
    typical = float(np.sqrt(np.mean(cell[repeats > 0] ** 2))) if np.any(repeats > 0) else 0.0
    k = cell / typical if typical > 0 else np.zeros(count)
    per_cell = (total - float((n**2).sum()) / total) / (count - 1) if count > 1 else total
    s_r = float(np.sqrt(squares.sum() / degrees)) if degrees > 0 else None
    if count < 3:
        return Laboratories(grand, s_r, None, None, per_cell, h, k)
    between = float((n * (means - grand) ** 2).sum() / (count - 1))
    if s_r is None:
        return Laboratories(grand, None, None, spread, per_cell, h, k)
    s_between = float(np.sqrt(max(0.0, (between - s_r**2) / per_cell)))
    return Laboratories(grand, s_r, s_between, float(np.hypot(s_r, s_between)), per_cell, h, k)


@dataclass(frozen=True)
class RobustMean:
    """Robust mean and standard deviation (algorithm A)."""

    mean: float
    sd: float


def algorithm_a(values: Floats, tolerance: float = 1e-12) -> RobustMean:
    """Start at the median and 1.483 MAD; clip at 1.5 sd, take mean and 1.134 sd, repeat. A zero MAD starts at the sd."""
    centre = float(np.median(values))
    spread = MEDIAN_FACTOR * float(np.median(np.abs(values - centre)))
    if spread == 0.0:
        spread = float(values.std(ddof=1)) if len(values) > 1 else 0.0
    for _ in range(1000):
        clipped = np.clip(values, centre - CLIP * spread, centre + CLIP * spread)
        new_centre = float(clipped.mean())
        new_spread = SPREAD_FACTOR * float(clipped.std(ddof=1)) if len(values) > 1 else 0.0
        moved = abs(new_centre - centre) + abs(new_spread - spread)
        centre, spread = new_centre, new_spread
        if moved <= tolerance * max(abs(centre), spread, 1e-300):
            break
    return RobustMean(centre, spread)


def robust_scores(values: Floats) -> Floats | None:
    """z (or z' where the robust mean itself is uncertain) of each laboratory; None below 5 of them."""
    if len(values) < LABS_FOR_SCORES:
        return None
    typical = algorithm_a(values)
    if typical.sd == 0.0:
        return np.zeros(len(values))
    doubt = 1.25 * typical.sd / float(np.sqrt(len(values)))
    scale = float(np.hypot(typical.sd, doubt)) if doubt > 0.3 * typical.sd else typical.sd
    return np.asarray((values - typical.mean) / scale)


def deletion_z(layout: Layout, refits: Refits, left_out: list[Whole], x: Floats) -> list[float | None]:
    """z of each set of members against a fit of the rest: z = x' S^-1 r / sqrt(x' S^-1 x), S of r = y - X b(rest).

    `x` per row (share / 100). None where the rest says nothing of the shares the set measured.
    """
    row_member = layout.row_member
    scores: list[float | None] = []
    for row, members in enumerate(left_out):
        known = np.isfinite(np.diag(refits.covariance[row]))
        inside = np.isin(row_member, members)
        rows = np.flatnonzero(inside & (np.abs(layout.X) @ (~known).astype(np.float64) == 0))
        if not len(rows):
            scores.append(None)
            continue
        X = layout.X[rows][:, known]
        residual = layout.y[rows] - X @ refits.coefficients[row][known]
        S = covariance_blocks(layout, refits.variances[row], rows[None, :])[0]
        S = S + X @ refits.covariance[row][np.ix_(known, known)] @ X.T
        weight = np.linalg.solve(S, x[rows])
        scores.append(float(weight @ residual / np.sqrt(weight @ x[rows])))
    return scores

"""Climbing the censored mixed likelihood, its curvature member by member, and refits without members in one step."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.stopped.mixed_likelihood import Contribution, Point, StoppedRuns, contributions

SMALLEST_SPREAD, LARGEST_SPREAD = 0.01, 5.0
DIFFERENCE = 1e-4
LARGEST_STEP = 1.0


@dataclass(frozen=True)
class MixedFit:
    """Where the likelihood is largest. `shared` holds means, then log spreads; curvature and scores per member are
    those of the profile likelihood over the series intercepts. free: spreads not at their smallest value."""

    point: Point
    log_likelihood: float
    shared: Floats
    scores: Floats
    curvature: Floats
    free: Flags

    @property
    def covariance(self) -> Floats:
        """Model covariance of the means."""
        return self.without(np.zeros(0, dtype=np.int64))[1]

    @property
    def robust(self) -> Floats:
        """Covariance of the means robust by member, times members / (members - 1)."""
        members, p = len(self.scores), len(self.point.means)
        free = np.flatnonzero(self.free)
        bread = np.linalg.inv(-self.curvature.sum(axis=0)[np.ix_(free, free)])
        meat = self.scores[:, free].T @ self.scores[:, free] * (members / max(members - 1, 1))
        return np.asarray((bread @ meat @ bread)[:p, :p])

    def without(self, members: Whole) -> tuple[Floats, Floats]:
        """(shared parameters, covariance of the means) after one Newton step without these members."""
        kept = np.setdiff1d(np.arange(len(self.scores)), members)
        free, p = np.flatnonzero(self.free), len(self.point.means)
        curvature = -self.curvature[kept].sum(axis=0)[np.ix_(free, free)]
        inverse = np.linalg.pinv(curvature, hermitian=True)
        moved = self.shared.copy()
        step = inverse @ self.scores[kept][:, free].sum(axis=0)
        step[p:] = np.clip(step[p:], -LARGEST_STEP, LARGEST_STEP)
        moved[free] += step
        return moved, inverse[:p, :p]


def fit_mixed(runs: StoppedRuns, start: Point) -> MixedFit | None:
    """The maximum from `start` (which spreads it has decides which are estimated); None where none was found."""
    pack, unpack = _packing(start)

    def downhill(vector: Floats) -> tuple[float, Floats]:
        members = contributions(runs, unpack(vector))
        own = np.concatenate([member.own for member in members])
        return -sum(member.value for member in members), -np.concatenate(
            [sum(member.shared for member in members), own]
        )

    p, spreads, series = len(start.means), len(start.spreads), len(start.intercepts)
    limits = (float(np.log(SMALLEST_SPREAD)), float(np.log(LARGEST_SPREAD)))
    bounds = [(None, None)] * p + [limits] * spreads + [(None, None)] * series
    done = minimize(
        downhill,
        pack(start),
        jac=True,
        method="L-BFGS-B",
        bounds=bounds,
        options={"maxiter": 500, "maxfun": 700, "ftol": 1e-11, "gtol": 1e-4, "maxcor": 30},
    )
    vector = np.asarray(done.x)
    if not np.isfinite(done.fun) or np.max(np.abs(vector[:p])) > 20.0:
        return None
    return _described(runs, vector, unpack, -float(done.fun), p, spreads, limits)


def _packing(start: Point) -> tuple[Callable[[Point], Floats], Callable[[Floats], Point]]:
    """Functions from a Point to one vector (means, log spreads, intercepts) and back."""
    p, spreads = len(start.means), len(start.spreads)

    def pack(point: Point) -> Floats:
        return np.concatenate([point.means, np.log(point.spreads), point.intercepts])

    def unpack(vector: Floats) -> Point:
        sizes = list(np.exp(vector[p : p + spreads]))
        sd, level = sizes[0], sizes[1]
        series = sizes[2] if start.series is not None else None
        slope = sizes[-1] if start.slope is not None else None
        return Point(vector[:p], vector[p + spreads :], sd, level, series, slope)

    return pack, unpack


def _described(
    runs: StoppedRuns,
    vector: Floats,
    unpack: Callable[[Floats], Point],
    value: float,
    p: int,
    spreads: int,
    limits: tuple[float, float],
) -> MixedFit:
    """Scores and curvature per member, by differences of the gradient; series of different members are moved
    together, since a member's gradient knows only its own."""
    count = p + spreads
    here = contributions(runs, unpack(vector))
    place = np.concatenate([np.arange(np.sum(runs.member == member)) for member in range(runs.members)])
    most = int(place.max()) + 1
    moves = [np.eye(len(vector))[j] for j in range(count)]
    moves += [np.concatenate([np.zeros(count), (place == k).astype(np.float64)]) for k in range(most)]
    slopes = [
        _slopes(
            contributions(runs, unpack(vector + DIFFERENCE * move)),
            contributions(runs, unpack(vector - DIFFERENCE * move)),
        )
        for move in moves
    ]
    scores = np.array([contribution.shared for contribution in here])
    curvature = np.zeros((runs.members, count, count))
    for member in range(runs.members):
        own = len(here[member].own)
        shared = np.array([slopes[j][member][0] for j in range(count)])
        cross = np.array([slopes[count + k][member][0] for k in range(own)])
        inner = np.array([slopes[count + k][member][1] for k in range(own)])
        solved = np.linalg.solve(inner, np.column_stack([cross, here[member].own]))
        curvature[member] = 0.5 * (shared + shared.T) - cross.T @ solved[:, :-1]
        scores[member] = scores[member] - cross.T @ solved[:, -1]
    free = np.ones(count, dtype=bool)
    free[p:] = vector[p:count] > limits[0] + 1e-6
    return MixedFit(unpack(vector), value, vector[:count].copy(), scores, curvature, free)


def _slopes(up: list[Contribution], down: list[Contribution]) -> list[tuple[Floats, Floats]]:
    return [
        ((a.shared - b.shared) / (2 * DIFFERENCE), (a.own - b.own) / (2 * DIFFERENCE))
        for a, b in zip(up, down, strict=True)
    ]

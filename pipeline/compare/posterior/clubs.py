"""A few clubs are a finite set: the chance for another grower in these clubs is averaged over the clubs' own means.

Never the clubs' offsets added to the spread as if clubs came from a normal distribution (methods note, section 15).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.model.design import Design
from pipeline.compare.posterior.companion import Mixture, SpreadPosterior, new_series_covariance
from pipeline.compare.posterior.joint import chance_of_all

CLUB_BELOW = 0.15
"""How far below the assurance the chance in one club may be where the average reaches it."""
MEMBERS_OF_A_CLUB = 3
"""A club of fewer growers can't forbid a verdict by itself."""
APART = 1.25
"""Clubs whose ratios differ by more than this are shown before any average."""


@dataclass(frozen=True)
class ClubChances:
    """Per club and share, for fixed clubs. ratio, low, high: the club's mean ln ratio with its 95 % interval; chance:
    of a new series of a grower of that club reaching the target. equal: clubs counted equally, by_members: by how many
    growers each has; series: the mixture over clubs that count equally, per share; p_all: chance that one grower reaches
    the target at this share and all larger ones. members: growers of each club."""

    ratio: Floats
    low: Floats
    high: Floats
    chance: Floats
    equal: Floats
    by_members: Floats
    series: tuple[Mixture, ...]
    p_all: Floats
    members: Whole

    def clears(self, assurance: float) -> Flags:
        """Shares where the average reaches the assurance and no club of three growers stays far below it."""
        weighty = self.members >= MEMBERS_OF_A_CLUB
        lowest = np.min(self.chance[weighty], axis=0, initial=1.0)
        return np.asarray((self.equal >= assurance) & (lowest >= assurance - CLUB_BELOW))

    @property
    def apart(self) -> Flags:
        """Shares where the clubs' ratios differ by more than `APART` times."""
        return np.asarray(np.ptp(self.ratio, axis=0) > np.log(APART))


def club_codes(clubs: int) -> Floats:
    """Values of the offset columns (club, column): offsets add up to 0 over clubs."""
    return np.vstack([np.eye(clubs - 1), -np.ones((1, clubs - 1))])


def club_chances(
    design: Design, found: SpreadPosterior, offsets: dict[int, int], target_ratio: float
) -> ClubChances:
    """Chances in each club of a design with fixed club offsets; `offsets` gives the club of each member code."""
    count, clubs = len(design.shares), design.offsets + 1
    spread = new_series_covariance(design, found.variances)
    ratio, error, chance, joint, means, totals = [], [], [], [], [], []
    for code in club_codes(clubs):
        contrast = np.zeros((count, design.layout.X.shape[1]))
        contrast[:, :count] = np.eye(count)
        contrast[:, count : count + design.offsets] = code
        mean = found.coefficients @ contrast.T
        own = contrast @ found.covariance @ contrast.T
        total = own + spread
        series = Mixture(found.weight, mean, np.einsum("njj->nj", total))
        ratio.append(found.weight @ mean)
        error.append(Mixture(found.weight, mean, np.einsum("njj->nj", own)))
        chance.append(series.above(target_ratio))
        joint.append(chance_of_all(found.weight, mean - np.log(target_ratio), total))
        means.append(mean)
        totals.append(series.variance)
    club = np.array([offsets.get(int(code), 0) for code in design.member_code], dtype=np.int64)
    members = np.bincount(club, minlength=clubs)
    chances = np.array(chance)
    return ClubChances(
        ratio=np.array(ratio),
        low=np.array([one.quantile(0.025) for one in error]),
        high=np.array([one.quantile(0.975) for one in error]),
        chance=chances,
        equal=chances.mean(axis=0),
        by_members=members @ chances / members.sum(),
        series=tuple(_over_clubs(found.weight, means, totals, column) for column in range(count)),
        p_all=np.minimum(np.mean(joint, axis=0), chances.mean(axis=0)),
        members=members,
    )


def _over_clubs(weight: Floats, means: list[Floats], totals: list[Floats], column: int) -> Mixture:
    """One share's mixture over clubs that count equally."""
    mean = np.column_stack([one[:, column] for one in means])
    variance = np.column_stack([one[:, column] for one in totals])
    return Mixture(weight, mean, variance).averaged(np.ones(len(means)))

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
    growers each has; series: the mixture over clubs that count equally, per share; each: per club, of all shares; p_all:
    chance that one grower reaches the target at this share and all larger ones. members: growers of each club."""

    ratio: Floats
    low: Floats
    high: Floats
    chance: Floats
    equal: Floats
    by_members: Floats
    series: tuple[Mixture, ...]
    each: tuple[Mixture, ...]
    p_all: Floats
    members: Whole

    def above(self, ratio: float, further_variance: float = 0.0) -> Floats:
        """Chance of a ratio above this, clubs counted equally; `further_variance` such as one pot beside one pot."""
        chances = [club.plus(further_variance).above(ratio) for club in self.each]
        return np.asarray(np.mean(chances, axis=0), dtype=np.float64)

    def clears(self, assurance: float, target_ratio: float | None = None) -> Flags:
        """Shares where the average reaches the assurance and no club of three growers stays far below it; by another
        target than the one these chances are of, where one is given."""
        chance = self.chance
        if target_ratio is not None:
            chance = np.array([club.above(target_ratio) for club in self.each])
        lowest = np.min(chance[self.members >= MEMBERS_OF_A_CLUB], axis=0, initial=1.0)
        return np.asarray((chance.mean(axis=0) >= assurance) & (lowest >= assurance - CLUB_BELOW))

    @property
    def apart(self) -> Flags:
        """Shares where the clubs' ratios differ by more than `APART` times."""
        return np.asarray(np.ptp(self.ratio, axis=0) > np.log(APART))


def club_codes(clubs: int) -> Floats:
    """Values of the offset columns (club, column): offsets add up to 0 over clubs."""
    return np.vstack([np.eye(clubs - 1), -np.ones((1, clubs - 1))])


def club_chances(
    design: Design,
    found: SpreadPosterior,
    offsets: dict[int, int],
    target_ratio: float,
    counted: Flags | None = None,
) -> ClubChances:
    """Chances in each club of a design with fixed club offsets; `offsets` gives the club of each member code; `counted`
    shares alone take part in p_all, the others get NaN there."""
    count, clubs = len(design.shares), design.offsets + 1
    spread = new_series_covariance(design, found.variances)
    ratio, error, chance, joint, each = [], [], [], [], []
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
        joint.append(chance_of_all(found.weight, mean - np.log(target_ratio), total, counted))
        each.append(series)
    known = [offsets[int(code)] for code in design.member_code if int(code) in offsets]
    members = np.bincount(np.array(known, dtype=np.int64), minlength=clubs)
    chances = np.array(chance)
    return ClubChances(
        ratio=np.array(ratio),
        low=np.array([one.quantile(0.025) for one in error]),
        high=np.array([one.quantile(0.975) for one in error]),
        chance=chances,
        equal=chances.mean(axis=0),
        by_members=members @ chances / members.sum(),
        series=tuple(_over_clubs(each, column) for column in range(count)),
        each=tuple(each),
        p_all=np.minimum(np.mean(joint, axis=0), chances.mean(axis=0)),
        members=members,
    )


def _over_clubs(each: list[Mixture], column: int) -> Mixture:
    """One share's mixture over clubs that count equally."""
    mean = np.column_stack([club.mean[:, column] for club in each])
    variance = np.column_stack([club.variance[:, column] for club in each])
    return Mixture(each[0].weight, mean, variance).averaged(np.ones(len(each)))

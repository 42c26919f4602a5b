"""Parts of the pool borrow from the whole: what each level of a split says, drawn towards the pool as far as it must.

A part judged alone has a wider range, so a larger share passes: noise turned into a recipe. Here every level is the whole
pool's mean with a shift of its own (`shifts.py`) and the whole pool's spreads (methods note, section 14).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.model.design import Design
from pipeline.compare.posterior.clubs import club_codes
from pipeline.compare.posterior.companion import Mixture, SpreadPosterior, new_series_covariance
from pipeline.compare.posterior.joint import chance_of_all
from pipeline.compare.posterior.shifts import (
    SPREAD_NODES,
    Shifts,
    level_shifts,
    pairs_of_sizes,
    representative,
)
from schemas.trade.verdicts import CANNOT_TELL, RULED_OUT, SHOWN

SMALL_DIFFERENCE = 1.25
"""A ratio between level and rest that lies within this, either way, is no difference to a grower."""
LEAST_REFERENCE = 0.01


@dataclass(frozen=True)
class LevelAnswer:
    """One level of a split, borrowing from the whole. Per share: mean ln ratio with its 95 % interval, chances and 95 %
    range of a new grower's series there, chances of one pot beside one pot, chance of reaching the target at this share
    and all larger ones.

    difference, difference_low, difference_high: ln of level over rest at the reference share; word: whether a difference
    is shown, ruled out (beyond 1.25 times either way), or can't be told; members: growers with tests in the level;
    p_clears_without: lowest chance of reaching the target without any one grower, club or lot of the level, where a
    difference is shown, else None.
    """

    level: int
    members: int
    mean: Floats
    low: Floats
    high: Floats
    p_faster: Floats
    p_clears: Floats
    p_faster_pot: Floats
    p_clears_pot: Floats
    new_low: Floats
    new_high: Floats
    p_all: Floats
    difference: float
    difference_low: float
    difference_high: float
    word: str
    p_clears_without: Floats | None


@dataclass(frozen=True)
class Borrowed:
    """All levels of a split. in_several: growers with tests in two levels or more, who tell levels apart by themselves;
    sd_part: posterior mean of the standard deviation between levels at share 0."""

    levels: tuple[LevelAnswer, ...]
    in_several: int
    sd_part: float


@dataclass(frozen=True)
class Asked:
    """What every level is asked. pot_variance: s_r squared; counted: shares that enough growers measured, which take part
    in p_all; least_variance: floor per share of a new series' variance; left_out: sets of member codes that a shown
    difference must survive without."""

    target_ratio: float
    reference_share: float
    pot_variance: float
    counted: Flags | None = None
    least_variance: Floats | None = None
    left_out: Sequence[tuple[int, ...]] = ()

    @property
    def x_reference(self) -> float:
        """The reference share as a part of 1, never 0."""
        return max(abs(self.reference_share) / 100.0, LEAST_REFERENCE)


def borrow(design: Design, found: SpreadPosterior, level: Whole, asked: Asked) -> Borrowed:
    """Every level's answer. `level` is the level of each effect in the design's order, -1 for none; `found` the whole
    pool's posterior of the spreads. In fixed clubs chances are averages over the clubs."""
    labels = np.unique(level[level >= 0])
    chosen = representative(found, SPREAD_NODES)
    pairs, log_prior = pairs_of_sizes(asked.x_reference)
    shifts = level_shifts(design, chosen.variances, level, pairs, log_prior)
    row_member = design.layout.row_member
    present = np.array(
        [np.bincount(row_member[level == one], minlength=design.layout.members) > 0 for one in labels]
    )
    split = _Split(design, chosen, level, labels, present, asked)
    answers = tuple(split.answer(shifts, column) for column in range(len(labels)))
    between = float(shifts.weight @ shifts.sds[:, 0])
    return Borrowed(answers, int((present.sum(axis=0) > 1).sum()), between)


@dataclass(frozen=True)
class _Split:
    """A split of one design; present (level, member): who has tests in which level."""

    design: Design
    chosen: SpreadPosterior
    level: Whole
    labels: Whole
    present: Flags
    asked: Asked

    def answer(self, shifts: Shifts, column: int) -> LevelAnswer:
        """One level's answer."""
        asked, fixed = self.asked, self.design.layout.X.shape[1]
        clubs = self._new_series(shifts, column)
        mean, error = self._at(shifts, column, np.zeros(self.design.offsets))
        own = Mixture(shifts.weight, mean, np.einsum("njj->nj", error))
        series = _over([Mixture(shifts.weight, at, np.einsum("njj->nj", total)) for at, total in clubs])
        pot = series.plus(2.0 * asked.pot_variance)
        single = series.above(asked.target_ratio)
        joint = [
            chance_of_all(shifts.weight, at - np.log(asked.target_ratio), total, asked.counted)
            for at, total in clubs
        ]
        apart = level_against_rest(shifts, self.present, column, fixed, asked.x_reference)
        low, high = (float(apart.quantile(part)[0]) for part in (0.025, 0.975))
        word = difference_word(low, high)
        return LevelAnswer(
            level=int(self.labels[column]),
            members=int(self.present[column].sum()),
            mean=shifts.weight @ mean,
            low=own.quantile(0.025),
            high=own.quantile(0.975),
            p_faster=series.above(1.0),
            p_clears=single,
            p_faster_pot=pot.above(1.0),
            p_clears_pot=pot.above(asked.target_ratio),
            new_low=series.quantile(0.025),
            new_high=series.quantile(0.975),
            p_all=np.minimum(np.mean(joint, axis=0), single),
            difference=float(shifts.weight @ apart.mean[:, 0]),
            difference_low=low,
            difference_high=high,
            word=word,
            p_clears_without=self._without_each(column) if word == SHOWN else None,
        )

    def _at(self, shifts: Shifts, column: int, offsets: Floats) -> tuple[Floats, Floats]:
        """Means (node, share) of the level in a club of these offsets, and their covariance."""
        shares, fixed, levels = self.design.shares, self.design.layout.X.shape[1], len(self.labels)
        count = len(shares)
        contrast = np.zeros((count, shifts.coefficients.shape[1]))
        contrast[:, :count] = np.eye(count)
        contrast[:, count : count + len(offsets)] = offsets
        contrast[:, fixed + column] = 1.0
        contrast[:, fixed + levels + column] = shares / 100.0
        return shifts.coefficients @ contrast.T, contrast @ shifts.covariance @ contrast.T

    def _new_series(self, shifts: Shifts, column: int) -> list[tuple[Floats, Floats]]:
        """Mean (node, share) and covariance of a new grower's series of the level, one of each fixed club."""
        spread = new_series_covariance(self.design, self.chosen.variances)
        if self.asked.least_variance is not None:
            short = np.nan_to_num(self.asked.least_variance) - np.einsum("njj->nj", spread)
            spread = spread + np.maximum(short, 0.0)[:, :, None] * np.eye(spread.shape[1])
        offsets = club_codes(self.design.offsets + 1) if self.design.offsets else np.zeros((1, 0))
        clubs = [self._at(shifts, column, code) for code in offsets]
        return [(mean, error + spread[shifts.spread]) for mean, error in clubs]

    def _without_each(self, column: int) -> Floats:
        """The lowest chance per share in refits without one grower, club or lot that has tests in the level; the
        pool's spreads held."""
        design, here = self.design, self.level == self.labels[column]
        pairs, log_prior = pairs_of_sizes(self.asked.x_reference)
        code = design.member_code[design.layout.row_member]
        lowest = np.ones(len(design.shares))
        for members in self.asked.left_out:
            rows = np.isin(code, members)
            if not (rows & here).any():
                continue
            shifts = level_shifts(design, self.chosen.variances, self.level, pairs, log_prior, rows)
            clubs = self._new_series(shifts, column)
            series = _over([Mixture(shifts.weight, at, np.einsum("njj->nj", total)) for at, total in clubs])
            lowest = np.minimum(lowest, series.above(self.asked.target_ratio))
        return lowest


def _over(clubs: list[Mixture]) -> Mixture:
    """One mixture per share over clubs that count equally."""
    weight = np.concatenate([club.weight for club in clubs]) / len(clubs)
    return Mixture(
        weight, np.vstack([club.mean for club in clubs]), np.vstack([club.variance for club in clubs])
    )


def level_against_rest(
    shifts: Shifts, present: Flags, column: int, fixed: int, x_reference: float
) -> Mixture:
    """ln ratio of a level to the rest (other levels by their growers) at the reference share."""
    count = len(present)
    rest = present.sum(axis=1).astype(np.float64)
    rest[column] = 0.0
    share = -rest / rest.sum() if rest.sum() else np.zeros(count)
    share[column] = 1.0
    contrast = np.zeros(shifts.coefficients.shape[1])
    contrast[fixed : fixed + count] = share
    contrast[fixed + count :] = share * x_reference
    variance = np.einsum("i,nij,j->n", contrast, shifts.covariance, contrast)
    return Mixture(shifts.weight, (shifts.coefficients @ contrast)[:, None], variance[:, None])


def difference_word(low: float, high: float) -> str:
    """Whether a difference is shown, ruled out, or can't be told, from its 95 % interval on the ln scale."""
    if low > 0 or high < 0:
        return SHOWN
    limit = float(np.log(SMALL_DIFFERENCE))
    return RULED_OUT if -limit <= low and high <= limit else CANNOT_TELL

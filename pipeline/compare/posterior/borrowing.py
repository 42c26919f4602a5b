"""Parts of the pool borrow from the whole: each level of a split has a shift of its own, drawn towards none.

A part judged alone has a wider range, so a larger share passes: noise turned into a recipe. Here every level gets a
shift and a slope in share with common standard deviations, both under half-normal priors and integrated, beside the
whole pool's means and spreads (methods note, section 14).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import logsumexp, ndtri

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.model.design import Design
from pipeline.compare.model.rotation import reduce_layout
from pipeline.compare.posterior.companion import Mixture, SpreadPosterior, new_series_covariance
from pipeline.compare.posterior.joint import chance_of_all
from pipeline.compare.posterior.sums import plain_sums

PART_SCALE = 0.15
"""Scale of the half-normal prior on the standard deviation between levels, ln ratio, at the reference share."""
SPREAD_NODES, PART_NODES = 24, 12
SMALL_DIFFERENCE = 1.25
SHOWN, RULED_OUT, CANNOT_TELL = "shown", "ruled_out", "cannot_tell"


@dataclass(frozen=True)
class LevelAnswer:
    """One level of a split, borrowing from the whole. Per share: mean ln ratio with its 95 % interval, chances and 95 %
    range of a new grower's series there, chance of reaching the target at this share and all larger ones.

    difference, difference_low, difference_high: ln of level over rest at the reference share; word: whether a difference
    is shown, ruled out (beyond 1.25 times either way), or can't be told; members: growers with tests in the level.
    """

    level: int
    members: int
    mean: Floats
    low: Floats
    high: Floats
    p_faster: Floats
    p_clears: Floats
    new_low: Floats
    new_high: Floats
    p_all: Floats
    difference: float
    difference_low: float
    difference_high: float
    word: str


@dataclass(frozen=True)
class Borrowed:
    """All levels of a split. in_several: growers with tests in two levels or more, who tell levels apart by themselves;
    sd_part: posterior mean of the standard deviation between levels at share 0."""

    levels: tuple[LevelAnswer, ...]
    in_several: int
    sd_part: float


@dataclass(frozen=True)
class Shifts:
    """Nodes of the posterior with levels: weight (node), coefficients (node, column) and covariance; the columns are
    those of the pool, then one shift and one slope for each level. spread: node of the pool each one stands on."""

    weight: Floats
    coefficients: Floats
    covariance: Floats
    spread: Whole
    sds: Floats


def borrow(
    design: Design, found: SpreadPosterior, level: Whole, target_ratio: float, reference_share: float
) -> Borrowed:
    """Every level's answer. `level` is the level of each effect in the design's order, -1 for none; `found` the whole
    pool's posterior of the spreads."""
    labels = np.unique(level[level >= 0])
    chosen = representative(found, SPREAD_NODES)
    x_reference = max(reference_share / 100.0, 0.01)
    sizes, weights = part_prior(PART_NODES)
    pairs = np.array([(a, b / x_reference) for a in sizes for b in sizes])
    shifts = level_shifts(design, chosen.variances, level, pairs, np.log(np.outer(weights, weights).ravel()))
    row_member = design.layout.row_member
    present = np.array(
        [np.bincount(row_member[level == one], minlength=design.layout.members) > 0 for one in labels]
    )
    answers = tuple(
        _answer(design, chosen, shifts, present, column, int(label), target_ratio, x_reference)
        for column, label in enumerate(labels)
    )
    between = float(shifts.weight @ shifts.sds[:, 0])
    return Borrowed(answers, int((present.sum(axis=0) > 1).sum()), between)


def part_prior(count: int, scale: float = PART_SCALE) -> tuple[Floats, Floats]:
    """Middles of equally likely slices of the half-normal prior, and their weights."""
    middles = (np.arange(count) + 0.5) / count
    return scale * np.asarray(ndtri(0.5 + 0.5 * middles)), np.full(count, 1.0 / count)


def representative(found: SpreadPosterior, count: int) -> SpreadPosterior:
    """That many equally weighted nodes in place of all: one from each equal slice of the weight, by total variance."""
    order = np.argsort(found.variances.sum(axis=1), kind="stable")
    reached = np.cumsum(found.weight[order])
    at = order[np.minimum(np.searchsorted(reached, (np.arange(count) + 0.5) / count), len(order) - 1)]
    return replace(
        found,
        variances=found.variances[at],
        weight=np.full(count, 1.0 / count),
        coefficients=found.coefficients[at],
        covariance=found.covariance[at],
    )


def level_shifts(design: Design, variances: Floats, level: Whole, pairs: Floats, log_prior: Floats) -> Shifts:
    """Posterior of means and level effects at each of these variances, equally likely beforehand, with each pair of
    standard deviations of shifts and slopes."""
    effects = design.effects
    inside = (level[:, None] == np.unique(level[level >= 0])[None, :]).astype(np.float64)
    x = (effects.share - effects.reference) / 100.0
    columns = np.column_stack([inside * effects.based[:, None], inside * x[:, None]])
    wide = replace(design.layout, X=np.column_stack([design.layout.X, columns]))
    sums = plain_sums(reduce_layout(wide), variances)
    fixed, count = design.layout.X.shape[1], inside.shape[1]
    total = fixed + 2 * count
    precision = np.zeros((len(pairs), total))
    precision[:, fixed:] = np.repeat(1.0 / pairs**2, count, axis=1)
    information = sums.matrix[:, None, :total, :total] + precision[None, :, :, None] * np.eye(total)
    right = sums.matrix[:, None, :total, total]
    covariance = np.linalg.inv(information)
    coefficients = (covariance @ right[..., None])[..., 0]
    fitted = np.einsum("npk,nk->np", coefficients, right[:, 0])
    log_size = np.linalg.slogdet(information)[1] + 2.0 * count * np.log(pairs).sum(axis=1)
    value = -0.5 * (sums.log_determinant[:, None] + sums.matrix[:, None, total, total] - fitted + log_size)
    plain = _without_levels(sums.matrix, sums.log_determinant, fixed)
    log_weight = (value - plain[:, None] + log_prior).ravel()
    nodes = len(variances)
    return Shifts(
        weight=np.exp(log_weight - logsumexp(log_weight)),
        coefficients=coefficients.reshape(-1, total),
        covariance=np.asarray(covariance).reshape((-1, total, total)),
        spread=np.repeat(np.arange(nodes), len(pairs)),
        sds=np.tile(pairs, (nodes, 1)),
    )


def _without_levels(matrix: Floats, log_determinant: Floats, fixed: int) -> Floats:
    """Log-likelihood of each node without level effects: what its weight already holds."""
    information, right, square = matrix[:, :fixed, :fixed], matrix[:, :fixed, -1], matrix[:, -1, -1]
    solved = np.linalg.solve(information, right[..., None])[..., 0]
    rest = square - np.einsum("nk,nk->n", right, solved)
    return np.asarray(-0.5 * (log_determinant + np.linalg.slogdet(information)[1] + rest))


def _answer(
    design: Design,
    chosen: SpreadPosterior,
    shifts: Shifts,
    present: Floats,
    column: int,
    label: int,
    target_ratio: float,
    x_reference: float,
) -> LevelAnswer:
    shares, fixed, count = design.shares, design.layout.X.shape[1], len(present)
    contrast = np.zeros((len(shares), shifts.coefficients.shape[1]))
    contrast[:, : len(shares)] = np.eye(len(shares))
    contrast[:, fixed + column] = 1.0
    contrast[:, fixed + count + column] = shares / 100.0
    mean = shifts.coefficients @ contrast.T
    error = contrast @ shifts.covariance @ contrast.T
    total = error + new_series_covariance(design, chosen.variances)[shifts.spread]
    own = Mixture(shifts.weight, mean, np.einsum("njj->nj", error))
    series = Mixture(shifts.weight, mean, np.einsum("njj->nj", total))
    single = series.above(target_ratio)
    apart = level_against_rest(shifts, present, column, fixed, x_reference)
    low, high = (float(apart.quantile(part)[0]) for part in (0.025, 0.975))
    return LevelAnswer(
        level=label,
        members=int(present[column].sum()),
        mean=shifts.weight @ mean,
        low=own.quantile(0.025),
        high=own.quantile(0.975),
        p_faster=series.above(1.0),
        p_clears=single,
        new_low=series.quantile(0.025),
        new_high=series.quantile(0.975),
        p_all=np.minimum(chance_of_all(shifts.weight, mean - np.log(target_ratio), total), single),
        difference=float(shifts.weight @ apart.mean[:, 0]),
        difference_low=low,
        difference_high=high,
        word=difference_word(low, high),
    )


def level_against_rest(
    shifts: Shifts, present: Floats, column: int, fixed: int, x_reference: float
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

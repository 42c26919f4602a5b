"""The spread between growers with its own uncertainty: weak priors on every spread, integrated.

With few growers one estimate of the spread is too sure of itself: pools that agree by luck get too narrow a range. Each
standard deviation of the ln ratio at the reference share gets a half-normal prior, the means a flat one; chances and
ranges are averages over the posterior of the standard deviations (methods note, section 5).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from pipeline.compare.arrays import Flags, Floats
from pipeline.compare.model.design import Design
from pipeline.compare.model.likelihood import Likelihood, from_sums
from pipeline.compare.model.rotation import Reduced
from pipeline.compare.posterior.joint import chance_of_all
from pipeline.compare.posterior.nodes import posterior_nodes
from pipeline.compare.posterior.sums import plain_sums

PRIOR_SCALE = 0.25
"""Scale of the half-normal prior on each standard deviation of the ln ratio at the reference share."""
GROWERS_WITHOUT = 100
"""From this many independent growers on the plain estimate needs no companion."""
ALIKE = 0.02
"""A spread on the ln scale below which numbers are more alike than pots of one batch are (common practice)."""
HALVINGS = 60


@dataclass(frozen=True)
class SpreadPosterior:
    """Posterior of the spreads as nodes: variances (node, variance), weights, and per node the coefficients with their
    covariance. effective: how many equally weighted nodes they are worth."""

    variances: Floats
    weight: Floats
    coefficients: Floats
    covariance: Floats
    effective: float
    evidence: float


@dataclass(frozen=True)
class Mixture:
    """Weighted normals, ln scale: weight (node), mean and variance (node, target)."""

    weight: Floats
    mean: Floats
    variance: Floats

    def above(self, ratio: float) -> Floats:
        """Chance of a ratio above this, per target."""
        with np.errstate(divide="ignore", invalid="ignore"):
            each = ndtr((self.mean - np.log(ratio)) / np.sqrt(self.variance))
        return np.asarray(np.clip(self.weight @ each, 0.0, 1.0))

    def quantile(self, level: float) -> Floats:
        """The value that lies above this part of the mixture, per target, by halving."""
        reach = 12.0 * np.sqrt(self.variance.max(axis=0))
        low, high = self.mean.min(axis=0) - reach, self.mean.max(axis=0) + reach
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            below = self.weight @ ndtr((middle - self.mean) / np.sqrt(self.variance)) < level
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        return np.asarray(0.5 * (low + high))

    def plus(self, variance: float) -> Mixture:
        """The same with a further independent variance, such as that of one pot beside one pot."""
        return Mixture(self.weight, self.mean, self.variance + variance)

    def averaged(self, targets: Floats) -> Mixture:
        """One mixture of all its targets by weights (target), such as clubs that count equally."""
        weight = (self.weight[:, None] * targets[None, :] / targets.sum()).ravel()
        return Mixture(weight, self.mean.reshape(-1, 1), self.variance.reshape(-1, 1))


@dataclass(frozen=True)
class Companion:
    """Per share of the design. p_clears, p_faster: chances for a new grower's series; `_pot`: one pot beside one pot;
    new_low, new_high: 95 % range of a new series, ln; p_all: chance that one new grower reaches the target at this share
    and at every larger one; sd_member, sd_series: posterior medians at the reference share.

    scale: of the priors; alike: numbers more alike than pots are; effective: worth of the nodes; posterior: of the spreads.
    """

    series: Mixture
    p_faster: Floats
    p_clears: Floats
    p_faster_pot: Floats
    p_clears_pot: Floats
    new_low: Floats
    new_high: Floats
    p_all: Floats
    sd_member: float
    sd_series: float
    scale: float
    alike: bool
    effective: float
    posterior: SpreadPosterior


def prior_scales(design: Design, reference_share: float, scale: float = PRIOR_SCALE) -> Floats:
    """Scale of each standard deviation in the order of `Layout.variance_names`; a slope's is for the reference share."""
    sizes = np.full(len(design.layout.variance_names), scale)
    if design.slope:
        sizes[design.layout.z_member.shape[1] - 1] = scale / max(reference_share / 100.0, 0.01)
    return sizes


def spread_posterior(reduced: Reduced, scales: Floats) -> SpreadPosterior:
    """Posterior of the variances of a reduced layout under half-normal priors of these scales."""

    def log_density(sds: Floats) -> Floats:
        prior = -0.5 * np.sum((sds / scales) ** 2, axis=1)
        return np.asarray(likelihood_at(reduced, sds**2).value + prior)

    nodes = posterior_nodes(log_density, scales)
    told = nodes.weight > 0
    variances = nodes.sds[told] ** 2
    means = likelihood_at(reduced, variances)
    weight = nodes.weight[told] / nodes.weight[told].sum()
    return SpreadPosterior(
        variances, weight, means.coefficients, means.covariance, nodes.effective, nodes.evidence
    )


def at_estimate(variances: Floats, coefficients: Floats, covariance: Floats) -> SpreadPosterior:
    """One node at an estimate of the spreads, for pools so large that their uncertainty does not matter."""
    return SpreadPosterior(variances[None], np.ones(1), coefficients[None], covariance[None], 1.0, 0.0)


def likelihood_at(reduced: Reduced, variances: Floats) -> Likelihood:
    """Restricted likelihood and means at many points, without scores."""
    return from_sums(reduced, plain_sums(reduced, variances), None)


def new_series_covariance(design: Design, variances: Floats) -> Floats:
    """Covariance (node, share, share) of one new grower's series about the means: level, slope, series, club are shared
    by its shares, the filling error of each mix is its own."""
    member, series, mix, club = design.layout.split(variances)
    x = design.shares / 100.0
    levels = member[:, :-1] if design.slope else member
    shared = levels.sum(axis=1) + series.sum(axis=1) + club.sum(axis=1)
    result = np.broadcast_to(shared[:, None, None], (len(variances), len(x), len(x))).copy()
    if design.slope:
        result += member[:, -1][:, None, None] * np.outer(x, x)
    return np.asarray(result + mix[:, :, None] * np.eye(len(x)))


def companion(
    design: Design,
    reduced: Reduced,
    pot_variance: float,
    target_ratio: float,
    reference_share: float,
    least_variance: Floats | None = None,
    scale: float = PRIOR_SCALE,
    counted: Flags | None = None,
    found: SpreadPosterior | None = None,
) -> Companion:
    """Chances and ranges at each share of the design for a grower drawn like these (club offsets at their middle).

    `pot_variance` is s_r squared; `least_variance` a floor per share for the spread about the mean, for shares that few
    growers measured; `counted` shares alone, those enough growers measured, take part in p_all, the others get NaN there; `found` a posterior in place of the priors' own, such
    as `at_estimate`.
    """
    if found is None:
        found = spread_posterior(reduced, prior_scales(design, reference_share, scale))
    count = len(design.shares)
    mean, error = found.coefficients[:, :count], found.covariance[:, :count, :count]
    spread = new_series_covariance(design, found.variances)
    if least_variance is not None:
        short = np.maximum(np.nan_to_num(least_variance) - np.einsum("njj->nj", spread), 0.0)
        spread = spread + short[:, :, None] * np.eye(count)
    total = error + spread
    series = Mixture(found.weight, mean, np.einsum("njj->nj", total))
    pot = series.plus(2.0 * pot_variance)
    sd_member, sd_series = _medians(design, found, reference_share)
    single = series.above(target_ratio)
    joint = chance_of_all(found.weight, mean - np.log(target_ratio), total, counted)
    return Companion(
        series=series,
        p_faster=series.above(1.0),
        p_clears=single,
        p_faster_pot=pot.above(1.0),
        p_clears_pot=pot.above(target_ratio),
        new_low=series.quantile(0.025),
        new_high=series.quantile(0.975),
        p_all=np.minimum(joint, single),
        sd_member=sd_member,
        sd_series=sd_series,
        scale=scale,
        alike=bool(np.sqrt(found.weight @ np.einsum("njj->nj", spread).max(axis=1)) < ALIKE),
        effective=found.effective,
        posterior=found,
    )


def _medians(design: Design, found: SpreadPosterior, reference_share: float) -> tuple[float, float]:
    """Posterior medians of the spread between growers and between one grower's series at the reference share."""
    member, series, mix, club = design.layout.split(found.variances)
    between = club.sum(axis=1) + member[:, : member.shape[1] - int(design.slope)].sum(axis=1)
    if design.slope:
        between = between + member[:, -1] * (reference_share / 100.0) ** 2
    within = series.sum(axis=1) + mix[:, 0]
    return weighted_median(np.sqrt(between), found.weight), weighted_median(np.sqrt(within), found.weight)


def weighted_median(values: Floats, weight: Floats) -> float:
    """The value below which half of the weight lies."""
    order = np.argsort(values, kind="stable")
    return float(values[order][np.searchsorted(np.cumsum(weight[order]), 0.5)])

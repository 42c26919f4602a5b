"""Sheets that look unlike the others, and the slip that would explain them: an exact factor, named with its remedy.

Advice for the coordinator only; nothing is ever dropped for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.behind.consistency import ACTION, baseline_levels, member_z
from pipeline.compare.verdict.answer import Answer
from schemas.trade.slips import nearest_slip

FAR_OFF = 3.0
NEAR_AGAIN = 1.0
SMALLEST_SD = 0.10
LARGEST_FACTOR_NAMED_AS_CUP = 1.5


@dataclass(frozen=True)
class SlipFinding:
    """What looks unlike the rest. kind: run, series or member; run: its position among the runs given; score: z;
    factor: by what the rate is too high (over 1) or too low, if an exact slip explains it; sentence: for people."""

    kind: str
    member: int
    series: int | None
    run: int | None
    score: float
    factor: float | None
    sentence: str


def explaining_factor(distance: float, sd: float) -> float | None:
    """The factor by which the rate is too high (over 1) or too low (under 1), if an exact one explains a distance on
    the ln scale; the nearest where several would."""
    slip = nearest_slip(distance, NEAR_AGAIN * sd)
    if slip is None or abs(distance) < FAR_OFF * sd:
        return None
    return slip.factor if distance > 0 else 1.0 / slip.factor


def remedy(factor: float) -> str:
    """`would be normal if the time were 10 times longer`."""
    size = factor if factor > 1 else 1.0 / factor
    if size < LARGEST_FACTOR_NAMED_AS_CUP:
        return f"would be normal if the water had been measured with another country's cup ({size:.2f} times)"
    change = "longer" if factor > 1 else "shorter"
    other = "smaller" if factor > 1 else "larger"
    return f"would be normal if the time were {size:g} times {change}, or the water collected {size:g} times {other}"


def slip_findings(given: Answer, series: Whole, share: Floats, log_rate: Floats) -> list[SlipFinding]:
    """What looks unlike the rest among runs (arrays of the timed headline runs: series, merged share, ln rate), series and
    members; empty without a model."""
    if given.fitted is None:
        return []
    member_of = {int(s): int(m) for s, m in zip(given.cells.series, given.cells.member, strict=True)}
    return [
        *_about_runs(given, member_of, series, share, log_rate),
        *_about_series(given, member_of),
        *_about_members(given),
    ]


def _about_runs(
    given: Answer, member_of: dict[int, int], series: Whole, share: Floats, log_rate: Floats
) -> list[SlipFinding]:
    """Runs far from what the rest of their own series and the pool's ratios would give."""
    if given.fitted is None:
        return []
    estimated = given.fitted.estimate
    _, _, mix, _ = estimated.design.layout.split(estimated.fit.variances)
    sd = max(float(np.sqrt(mix.sum() + given.repeatability.sd**2)) * float(np.sqrt(2.0)), SMALLEST_SD)
    ratio = {0.0: 0.0, **dict(zip(estimated.design.shares.tolist(), estimated.mean.tolist(), strict=True))}
    known = np.array([float(mixed) in ratio for mixed in share], dtype=bool)
    level = np.where(known, log_rate - np.array([ratio.get(float(mixed), 0.0) for mixed in share]), np.nan)
    findings = []
    order = np.argsort(series, kind="stable")
    bounds = np.flatnonzero(np.r_[True, np.diff(series[order]) != 0, True])
    for start, end in pairwise(bounds.tolist()):
        rows = order[start:end][known[order[start:end]]]
        if len(rows) < 4:
            continue
        for row in rows:
            distance = float(level[row] - np.median(level[rows[rows != row]]))
            factor = explaining_factor(distance, sd) if abs(distance) > FAR_OFF * sd else None
            if factor is not None and max(factor, 1 / factor) >= LARGEST_FACTOR_NAMED_AS_CUP:
                findings.append(
                    SlipFinding(
                        "run",
                        member_of[int(series[row])],
                        int(series[row]),
                        int(row),
                        distance / sd,
                        factor,
                        f"This run looks unlike the rest of its series; it {remedy(factor)}.",
                    )
                )
    return findings


def _about_series(given: Answer, member_of: dict[int, int]) -> list[SlipFinding]:
    levels = baseline_levels(given)
    if levels is None:
        return []
    findings = []
    for code, score, distance in zip(levels.series, levels.score, levels.distance, strict=True):
        if abs(score) <= ACTION:
            continue
        factor = explaining_factor(float(distance), max(levels.sd, SMALLEST_SD))
        tail = f"; it {remedy(factor)}" if factor else ""
        findings.append(
            SlipFinding(
                "series",
                member_of[int(code)],
                int(code),
                None,
                float(score),
                factor,
                f"The baseline of this series drains at a rate unlike the other series{tail}. A true one stays as it is.",
            )
        )
    return findings


def _about_members(given: Answer) -> list[SlipFinding]:
    if given.fitted is None:
        return []
    return [
        SlipFinding(
            "member",
            member,
            None,
            None,
            score,
            None,
            "This grower's ratios look unlike the others'. It may be true: ask how the tests were made.",
        )
        for member, score in sorted(member_z(given.fitted).items())
        if abs(score) > ACTION
    ]

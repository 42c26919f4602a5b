"""Settling: how the ratio changes from the first pour to a later one, as differences of differences inside pots.

(L of a pot at pour k - at pour 1) of a mix less the same of its baseline: levels of pot, filling and series cancel.
Variance 2 s_e² (1/n mix + 1/n baseline), s_e the spread of pours inside a pot (methods note, section 9).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.behind.moderators import Shift, judged
from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Ties, independence
from pipeline.compare.model.design import headline_design
from pipeline.compare.model.estimate import NORMAL_95, estimate, t_quantile
from pipeline.compare.model.robust import cluster_robust
from schemas.results.details import PourShareLine, SettlingValue

MEMBERS_FOR_A_MEAN = 3
POURS_FOR_SPREAD = 3


@dataclass(frozen=True)
class Pours:
    """One entry per timed pour: member, series, merged share, pot (numbered over all), pour number, ln rate."""

    member: Whole
    series: Whole
    share: Floats
    pot: Whole
    pour: Whole
    log_rate: Floats


def pour_spread(pours: Pours, assumed: float) -> tuple[float, int]:
    """(s_e, degrees of freedom): spread of pours inside pots with 3 or more, after taking out the mean of each pour
    of the mix; `assumed` with 0 degrees where there are none."""
    _, pot, counts = np.unique(pours.pot, return_inverse=True, return_counts=True)
    enough = counts[pot] >= POURS_FOR_SPREAD
    if not enough.any():
        return assumed, 0
    value, label, pour = pours.log_rate[enough], pot[enough], pours.pour[enough]
    pots, label = np.unique(label, return_inverse=True)
    kinds, kind = np.unique(pour, return_inverse=True)
    X = np.column_stack([np.eye(len(pots))[label], np.eye(len(kinds))[kind][:, 1:]])
    b, _, rank, _ = np.linalg.lstsq(X, value, rcond=None)
    degrees = len(value) - int(rank)
    if degrees < 1:
        return assumed, 0
    return float(np.sqrt(np.sum((value - X @ b) ** 2) / degrees)), degrees


def settling_effects(pours: Pours, pour: int, spread: float) -> Effects:
    """One contrast per mix and series: change from pour 1 to `pour`, less that of the series' own baseline."""
    first, later = pours.pour == 1, pours.pour == pour
    _, at_first, at_later = np.intersect1d(pours.pot[first], pours.pot[later], return_indices=True)
    change = pours.log_rate[later][at_later] - pours.log_rate[first][at_first]
    series, share = pours.series[first][at_first], pours.share[first][at_first]
    member = pours.member[first][at_first]
    rows: list[tuple[int, int, float, float, float, float, int, int]] = []
    for code in np.unique(series):
        base = (series == code) & (share == 0)
        if not base.any():
            continue
        for mix in np.unique(share[(series == code) & (share > 0)]):
            mixes = (series == code) & (share == mix)
            pots, base_pots = int(mixes.sum()), int(base.sum())
            y = float(change[mixes].mean() - change[base].mean())
            rows.append(
                (
                    int(member[mixes][0]),
                    int(code),
                    float(mix),
                    y,
                    2 * spread**2 / pots,
                    2 * spread**2 / base_pots,
                    pots,
                    base_pots,
                )
            )
    table = np.array(rows, dtype=np.float64).reshape(len(rows), 8)
    return Effects(
        member=table[:, 0].astype(np.int64),
        series=table[:, 1].astype(np.int64),
        share=table[:, 2],
        reference=np.zeros(len(rows)),
        y=table[:, 3],
        own_variance=table[:, 4],
        reference_variance=table[:, 5],
        pots=table[:, 6].astype(np.int64),
        reference_pots=table[:, 7].astype(np.int64),
    )


def settling_shift(pours: Pours, ties: Ties, pour: int, assumed: float) -> Shift:
    """The mean change of all ratios from pour 1 to `pour`, one contrast."""
    words = "settled beside freshly filled pots"
    spread, _ = pour_spread(pours, assumed)
    effects = settling_effects(pours, pour, max(spread, 1e-4))
    members = len(np.unique(effects.member))
    nothing = Shift("settled", words, None, None, None, None, None, members, members, "")
    if members < MEMBERS_FOR_A_MEAN:
        return Shift(
            "settled",
            words,
            None,
            None,
            None,
            None,
            None,
            members,
            members,
            "Fewer than 3 growers poured the same pots again.",
        )
    level = replace(effects, share=np.full(len(effects), 100.0))
    independent = independence([int(code) for code in effects.member], ties)
    if independent.units < 2:
        return nothing
    design = headline_design(level, independent)
    estimated = estimate(design)
    robust = cluster_robust(estimated.fit, design.unit[design.layout.row_member])
    return judged(
        nothing,
        float(estimated.mean[0]),
        float(estimated.error[0]) ** 2,
        float(robust.covariance[0, 0]),
        float(robust.degrees[0]),
        independent.units,
        1,
    )


def settling_value(pours: Pours, ties: Ties, assumed: float) -> SettlingValue:
    """Change of the ratio at every later pour that 3 growers made, and per share at each."""
    spread, degrees = pour_spread(pours, assumed)
    later = [int(code) for code in np.unique(pours.pour[pours.pour > 1])]
    value: SettlingValue = {"sd_pour": spread, "measured": degrees > 0, "pours": []}
    for pour in later:
        shift = settling_shift(pours, ties, pour, assumed)
        if shift.ratio is None:
            continue
        value["pours"].append(
            {
                "pour": pour,
                "ratio_of_ratios": shift.ratio,
                "ci": [shift.low, shift.high],
                "members": shift.members,
                "shares": _per_share(settling_effects(pours, pour, max(spread, 1e-4)), ties),
            }
        )
    if not value["pours"]:
        value["why"] = "Fewer than 3 growers poured the same pots again."
    return value


def _per_share(effects: Effects, ties: Ties) -> list[PourShareLine]:
    """Ratio of ratios at each share that 3 growers poured again, with its CR2 interval."""
    independent = independence([int(code) for code in effects.member], ties)
    design = headline_design(effects, independent)
    if len(effects) <= design.layout.X.shape[1] or independent.units < 2:
        return []
    estimated = estimate(design)
    robust = cluster_robust(estimated.fit, design.unit[design.layout.row_member])
    lines: list[PourShareLine] = []
    for j, share in enumerate(design.shares):
        if estimated.units[j] < MEMBERS_FOR_A_MEAN or robust.degrees[j] < 1:
            continue
        wide = float(t_quantile(robust.degrees[j])) * float(robust.standard_errors[j])
        half = max(wide, NORMAL_95 * float(estimated.error[j]))
        b = float(estimated.mean[j])
        lines.append(
            {
                "share": float(share),
                "ratio_of_ratios": float(np.exp(b)),
                "ci": [float(np.exp(b - half)), float(np.exp(b + half))],
                "members": int(estimated.units[j]),
            }
        )
    return lines

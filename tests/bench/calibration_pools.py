"""Invented pools for the calibration: the grid, the truths, the structures, and what a new grower would show."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.contrasts.cells import Cells, SingleRuns
from pipeline.compare.contrasts.independence import Ties

SHARES = np.array([15.0, 25.0, 35.0, 45.0, 55.0, 65.0])
TRUTHS = {
    "step_with_slowing": np.array([-0.20, -0.13, 0.11, 0.37, 0.48, 0.83]),
    "smooth": np.array([0.12, 0.22, 0.34, 0.46, 0.57, 0.68]),
    "flat": np.zeros(6),
}
MEMBERS = (3, 5, 8, 15, 30)
STRUCTURES = {
    "intercepts": (0.25, 0.0, 0.0), "slopes": (0.0, 0.6, 0.0), "both": (0.15, 0.4, 0.0), "correlated": (0.15, 0.4, 0.8),
}  # fmt: skip
COMPLICATIONS = (
    "none", "setup_slowing", "clubs_3x5", "clubs_5x6", "two_codes", "outlier", "slip_x10", "spread_falling",
    "sparse_top", "capped",
)  # fmt: skip
CLUBS = {"clubs_3x5": 3, "clubs_5x6": 5}
SD_SERIES, SD_MIX, SD_RUN, SD_LEVEL = 0.12, 0.08, 0.10, 0.5


@dataclass(frozen=True)
class Row:
    """One cell of the grid."""

    number: int
    complication: str
    structure: str
    members: int
    truth: str
    repeated: bool


def rows() -> list[Row]:
    """The fraction: every complication five times, over the numbers of members, the rest turning with both. 50 rows.

    Rows without a complication are flat but for one, so that false `clears` can be read from them.
    """
    found = []
    for s, complication in enumerate(COMPLICATIONS):
        for k in range(5):
            found.append(
                Row(
                    5 * s + k,
                    complication,
                    list(STRUCTURES)[(s + k) % 4],
                    _members(complication, k),
                    _truth(complication, s, k),
                    bool((s + k // 2 + k) % 2),
                )
            )
    return found


def _members(complication: str, k: int) -> int:
    fixed = {"clubs_3x5": 15, "clubs_5x6": 30}
    return fixed.get(complication, 8 if complication == "none" and k == 0 else MEMBERS[k])


def _truth(complication: str, s: int, k: int) -> str:
    if complication == "none":
        return "flat" if k else "step_with_slowing"
    return list(TRUTHS)[(s + 2 * k) % 3]


@dataclass(frozen=True)
class Growers:
    """What each grower adds to the ln ratio at each share, the club of each ("" for none), the clubs' own effects."""

    effect: np.ndarray
    club: list[str]
    levels: np.ndarray | None


def _effects(structure: str, rng: np.random.Generator, count: int) -> np.ndarray:
    """Effects (grower, share) of a structure: level and slope, with their correlation."""
    sd_level, sd_slope, together = STRUCTURES[structure]
    level, slope = rng.normal(0, 1, count), rng.normal(0, 1, count)
    slope = together * level + np.sqrt(1 - together**2) * slope
    effects: np.ndarray = sd_level * level[:, None] + sd_slope * slope[:, None] * SHARES / 100.0
    return effects


def draw_growers(row: Row, rng: np.random.Generator, count: int, levels: np.ndarray | None = None) -> Growers:
    """Growers of a row; `levels`: effects of the clubs they come from, None draws clubs of their own."""
    effect = _effects(row.structure, rng, count)
    club = [""] * count
    if row.complication in CLUBS:
        if levels is None:
            clubs = CLUBS[row.complication] if count == row.members else count
            levels = _effects(row.structure, rng, clubs)
        number = np.arange(count) % len(levels)
        effect = np.sqrt(0.5) * (levels[number] + effect)
        club = [f"club {one}" for one in number]
    if row.complication == "setup_slowing":
        effect = effect - 0.25 * (rng.random(count) < 0.5)[:, None] * (SHARES <= 25)
    if row.complication == "spread_falling":
        effect = 0.5 * effect + rng.normal(0, 0.4, count)[:, None] * (1.0 - SHARES / 100.0)
    if row.complication == "sparse_top":
        effect[:, -1] += rng.normal(0, 0.4, count)
    return Growers(effect, club, levels)


def new_series(row: Row, rng: np.random.Generator, count: int, levels: np.ndarray | None) -> np.ndarray:
    """ln ratios (series, share) that new growers' series would show averaged over many fillings of one batch a mix;
    with `levels`, growers of these clubs."""
    growers = draw_growers(row, rng, count, levels)
    mix = rng.normal(0, SD_MIX, (count, len(SHARES))) - rng.normal(0, SD_MIX, (count, 1))
    ratios: np.ndarray = TRUTHS[row.truth] + growers.effect + rng.normal(0, SD_SERIES, (count, 1)) + mix
    return ratios


@dataclass(frozen=True)
class Pool:
    """A drawn pool: single runs, what its members share, and the clubs' levels where the answer is for these clubs."""

    runs: SingleRuns
    ties: Ties
    levels: np.ndarray | None


def draw_pool(row: Row, rng: np.random.Generator) -> Pool:
    """Every grower tests 1 to 3 series of the baseline and about three quarters of the shares."""
    growers = draw_growers(row, rng, row.members)
    effect = growers.effect.copy()
    if row.complication == "two_codes" and row.members > 1:
        effect[-1] = effect[-2]
    if row.complication == "outlier":
        effect[0] += 1.0
    lines: list[tuple[int, int, float, float]] = []
    series = 0
    for member in range(row.members):
        for _ in range(rng.integers(1, 4)):
            lines += _series(row, rng, member, series, effect[member])
            series += 1
    table = np.array(lines)
    log_rate = table[:, 3].copy()
    if row.complication == "slip_x10":
        log_rate[rng.integers(len(log_rate))] -= np.log(10.0)
    stopped = np.zeros(len(log_rate), dtype=bool)
    if row.complication == "capped":
        cap = np.quantile(log_rate[table[:, 2] == 0], 0.4)
        stopped = log_rate < cap
        log_rate = np.maximum(log_rate, cap)
    runs = SingleRuns(
        table[:, 0].astype(np.int64), table[:, 1].astype(np.int64), table[:, 2], log_rate, stopped
    )
    clubs = {member: frozenset({club}) for member, club in enumerate(growers.club) if club}
    return Pool(runs, Ties(clubs, {}, {}), growers.levels if row.complication == "clubs_3x5" else None)


def _series(
    row: Row, rng: np.random.Generator, member: int, series: int, effect: np.ndarray
) -> list[tuple[int, int, float, float]]:
    level, own = rng.normal(0, SD_LEVEL), rng.normal(0, SD_SERIES)
    kept = rng.random(len(SHARES)) > 0.25
    if row.complication == "sparse_top":
        kept[-1] = rng.random() < 0.2
    lines = []
    for share, extra in [
        (0.0, 0.0),
        *zip(SHARES[kept], (TRUTHS[row.truth] + effect + own)[kept], strict=True),
    ]:
        mix = rng.normal(0, SD_MIX)
        for _ in range(rng.integers(1, 4) if row.repeated else 1):
            lines.append((member, series, float(share), float(level + extra + mix + rng.normal(0, SD_RUN))))
    return lines


def cells_from(runs: SingleRuns) -> Cells:
    """Cells of single runs, as the stage makes them from frames."""
    keys = np.column_stack([runs.series, runs.share])
    distinct, cell = np.unique(keys, axis=0, return_inverse=True)
    seen = ~runs.stopped
    pots = np.bincount(cell[seen], minlength=len(distinct))
    mean = np.bincount(cell[seen], weights=runs.log_rate[seen], minlength=len(distinct)) / np.maximum(pots, 1)
    away = (runs.log_rate - mean[cell]) ** 2 * seen
    member = np.zeros(len(distinct), dtype=np.int64)
    member[cell] = runs.member
    return Cells(
        member=member,
        series=distinct[:, 0].astype(np.int64),
        share=distinct[:, 1],
        merged=distinct[:, 1],
        pots=pots,
        mean=mean,
        sum_squares=np.bincount(cell, weights=away, minlength=len(distinct)).astype(np.float64),
        floor=np.zeros(len(distinct)),
        stopped=np.bincount(cell, weights=runs.stopped, minlength=len(distinct)).astype(np.int64),
    )

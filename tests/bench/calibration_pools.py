"""Invented pools for the calibration: the grid, the truths, the structures, and what a new grower would show."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.capped import SingleRuns
from pipeline.compare.contrasts import Cells
from pipeline.compare.independence import Ties

SHARES = np.array([15.0, 25.0, 35.0, 45.0, 55.0, 65.0])
TRUTHS = {
    "step_with_slowing": np.array([-0.20, -0.13, 0.11, 0.37, 0.48, 0.83]),
    "smooth": np.array([0.12, 0.22, 0.34, 0.46, 0.57, 0.68]),
    "flat": np.zeros(6),
}
MEMBERS = (3, 5, 8, 15, 30)
STRUCTURES = (
    "intercepts", "slopes", "both", "correlated", "setup_slowing", "clubs_3x5", "clubs_5x6", "two_codes", "outlier",
    "slip_x10", "spread_falling", "sparse_top", "capped",
)  # fmt: skip
CLUBS = {"clubs_3x5": 3, "clubs_5x6": 5}
SD_SERIES, SD_MIX, SD_RUN, SD_LEVEL = 0.12, 0.08, 0.10, 0.5


@dataclass(frozen=True)
class Row:
    """One cell of the grid."""

    number: int
    structure: str
    members: int
    truth: str
    repeated: bool


def rows() -> list[Row]:
    """The fraction: every structure with every number of members; truth and repeats turn with both. 65 rows."""
    names = list(TRUTHS)
    return [
        Row(5 * s + k, structure, _members(structure, MEMBERS[k]), names[(s + k) % 3], bool((s + k) % 2))
        for s, structure in enumerate(STRUCTURES)
        for k in range(5)
    ]


def _members(structure: str, members: int) -> int:
    return {"clubs_3x5": 15, "clubs_5x6": 30}.get(structure, members)


@dataclass(frozen=True)
class Growers:
    """What each grower adds to the ln ratio at each share, the club of each ("" for none), the clubs' own levels."""

    effect: np.ndarray
    club: list[str]
    levels: np.ndarray | None


def draw_growers(row: Row, rng: np.random.Generator, count: int, levels: np.ndarray | None = None) -> Growers:
    """Growers of a structure; `levels`: of the clubs they come from, None draws clubs of their own."""
    x = SHARES / 100.0
    level, slope = rng.normal(0, 0.15, count), rng.normal(0, 0.4, count)
    club = [""] * count
    if row.structure in ("intercepts", "outlier", "slip_x10", "capped"):
        level, slope = rng.normal(0, 0.25, count), np.zeros(count)
    elif row.structure == "slopes":
        level, slope = np.zeros(count), rng.normal(0, 0.6, count)
    elif row.structure == "correlated":
        slope = 0.8 * 0.4 * level / 0.15 + np.sqrt(1 - 0.8**2) * slope
    elif row.structure.startswith("clubs"):
        if levels is None:
            levels = rng.normal(0, 0.25, CLUBS[row.structure] if count == row.members else count)
        number = np.arange(count) % len(levels)
        level = np.sqrt(0.5) * (levels[number] + rng.normal(0, 0.25, count))
        slope, club = np.zeros(count), [f"club {one}" for one in number]
    effect = level[:, None] + slope[:, None] * x
    if row.structure == "setup_slowing":
        effect = effect - 0.25 * (rng.random(count) < 0.5)[:, None] * (SHARES <= 25)
    if row.structure == "spread_falling":
        effect = rng.normal(0, 0.4, count)[:, None] * (1.0 - x)
    if row.structure == "sparse_top":
        effect[:, -1] += rng.normal(0, 0.4, count)
    return Growers(effect, club, levels)


def new_series(row: Row, rng: np.random.Generator, count: int, levels: np.ndarray | None) -> np.ndarray:
    """ln ratios (series, share) that new growers' series would show averaged over many fillings of one batch a mix;
    with `levels`, growers of these clubs."""
    growers = draw_growers(row, rng, count, levels)
    mix = rng.normal(0, SD_MIX, (count, len(SHARES))) - rng.normal(0, SD_MIX, (count, 1))
    return TRUTHS[row.truth] + growers.effect + rng.normal(0, SD_SERIES, (count, 1)) + mix


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
    if row.structure == "two_codes" and row.members > 1:
        effect[-1] = effect[-2]
    if row.structure == "outlier":
        effect[0] += 1.0
    lines: list[tuple[int, int, float, float]] = []
    series = 0
    for member in range(row.members):
        for _ in range(rng.integers(1, 4)):
            lines += _series(row, rng, member, series, effect[member])
            series += 1
    table = np.array(lines)
    log_rate = table[:, 3].copy()
    if row.structure == "slip_x10":
        log_rate[rng.integers(len(log_rate))] -= np.log(10.0)
    stopped = np.zeros(len(log_rate), dtype=bool)
    if row.structure == "capped":
        cap = np.quantile(log_rate[table[:, 2] == 0], 0.4)
        stopped = log_rate < cap
        log_rate = np.maximum(log_rate, cap)
    runs = SingleRuns(
        table[:, 0].astype(np.int64), table[:, 1].astype(np.int64), table[:, 2], log_rate, stopped
    )
    clubs = {member: frozenset({club}) for member, club in enumerate(growers.club) if club}
    return Pool(runs, Ties(clubs, {}, {}), growers.levels if row.structure == "clubs_3x5" else None)


def _series(
    row: Row, rng: np.random.Generator, member: int, series: int, effect: np.ndarray
) -> list[tuple[int, int, float, float]]:
    level, own = rng.normal(0, SD_LEVEL), rng.normal(0, SD_SERIES)
    kept = rng.random(len(SHARES)) > 0.25
    if row.structure == "sparse_top":
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
        sum_squares=np.bincount(cell, weights=away, minlength=len(distinct)),
        floor=np.zeros(len(distinct)),
        stopped=np.bincount(cell, weights=runs.stopped, minlength=len(distinct)).astype(np.int64),
    )

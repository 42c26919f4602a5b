"""Calibration over random truths: invented pools whose truth, spreads, growers, stopped clocks and clubs are all drawn.

    python -m tests.bench.calibration_random FOLDER [--pools 20000] [--from 0] [--until 00:58] [--table]

Every pool has its own seed and is one line of FOLDER/pools.jsonl, so a run that was stopped goes on where it ended. What
each pool stated is kept twice: `before`, the plain answer, and `after`, the answer where a `clears` must also hold with
the spreads' own uncertainty, in every club, and in both readings of stopped clocks. `--table` prints, by number of growers
and by fifths of the estimated spread, how often a range covers, a `clears` and an `enough` are right, and how many of the
truly good answers were given. The distributions are those of `draw_truth`.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from pipeline.compare.contrasts.cells import SingleRuns
from pipeline.compare.contrasts.independence import Ties
from pipeline.compare.contrasts.repeatability import pool_repeatability
from pipeline.compare.model.prediction import NewSeries
from pipeline.compare.model.rotation import reduce_layout
from pipeline.compare.posterior.clubs import club_chances
from pipeline.compare.posterior.companion import companion, prior_scales, spread_posterior
from pipeline.compare.random_level.reading import two_readings
from pipeline.compare.random_level.stopped_pool import PooledRuns, lay_out
from pipeline.compare.stopped.answer import answer_by_stopped_runs
from pipeline.compare.verdict.answer import Answer, Fitted, answer, weigh
from pipeline.compare.verdict.verdicts import share_verdicts
from schemas.trade.verdicts import CLEARS, FALLS_SHORT
from tests.bench.calibration import NUMBERS, as_table, read_records
from tests.bench.calibration_pools import SHARES, cells_from

SEED = 20261128
NEW_GROWERS = 4000
NEAR, GOOD = 0.05, 0.85
GROUPS = ((5, 6), (7, 10), (11, 20), (21, 30))


@dataclass(frozen=True)
class Truth:
    """What a pool is drawn from. curve: mean ln ratio by share; the rest standard deviations on ln, correlations and
    parts: see `draw_truth`."""

    growers: int
    curve: np.ndarray
    sd_level: float
    sd_slope: float
    correlation: float
    sd_series: float
    sd_mix: float
    sd_run: float
    stopped: float
    clubs: int
    repeated: bool


def draw_truth(rng: np.random.Generator) -> Truth:
    """Growers 5-30 with equal chances on the log scale; one curve in seven flat, else top ln ratio uniform .1-.9, power
    .7-2.2, a dip at 15 % of 0-.2; level sd 0-.3, slope sd 0-.6, their correlation -.4 to .8; series .05-.2, mix .03-.12,
    pot .05-.15; half of the pools send 1-3 pots a mix; one in five has up to 40 % of its baselines stopped, one in five
    3 or 6 clubs."""
    x = SHARES / 100.0
    flat = rng.random() < 1 / 7
    rise = rng.uniform(0.1, 0.9) * (x / x[-1]) ** rng.uniform(0.7, 2.2)
    dip = rng.uniform(0, 0.2) * np.exp(-(((x - 0.15) / 0.1) ** 2))
    kind = rng.random()
    return Truth(
        growers=int(np.floor(np.exp(rng.uniform(np.log(5), np.log(31))))),
        curve=np.zeros(len(x)) if flat else rise - dip,
        sd_level=rng.uniform(0, 0.3),
        sd_slope=rng.uniform(0, 0.6),
        correlation=rng.uniform(-0.4, 0.8),
        sd_series=rng.uniform(0.05, 0.2),
        sd_mix=rng.uniform(0.03, 0.12),
        sd_run=rng.uniform(0.05, 0.15),
        stopped=rng.uniform(0.02, 0.4) if kind < 0.2 else 0.0,
        clubs=int(rng.choice([3, 6])) if kind > 0.8 else 0,
        repeated=bool(rng.random() < 0.5),
    )


def grower_effects(truth: Truth, rng: np.random.Generator, count: int) -> np.ndarray:
    """Effects (grower, share): level and slope, correlated."""
    level, own = rng.normal(0, 1, count), rng.normal(0, 1, count)
    slope = truth.correlation * level + np.sqrt(1 - truth.correlation**2) * own
    effects: np.ndarray = truth.sd_level * level[:, None] + truth.sd_slope * slope[:, None] * SHARES / 100.0
    return effects


def series_ratios(truth: Truth, rng: np.random.Generator, effects: np.ndarray) -> np.ndarray:
    """One series of each grower, averaged over many fillings of one batch a mix: ln ratio by share."""
    count = len(effects)
    mix = rng.normal(0, truth.sd_mix, (count, len(SHARES))) - rng.normal(0, truth.sd_mix, (count, 1))
    ratios: np.ndarray = truth.curve + effects + rng.normal(0, truth.sd_series, (count, 1)) + mix
    return ratios


@dataclass(frozen=True)
class DrawnPool:
    """Runs of a pool, its clubs, and new growers' series (of the same clubs, equally often, where they are few)."""

    runs: SingleRuns
    ties: Ties
    club: np.ndarray
    new: np.ndarray


def draw_pool(truth: Truth, rng: np.random.Generator) -> DrawnPool:
    """Every grower tests 1 to 3 series of the baseline and about three quarters of the shares."""
    clubs = min(truth.clubs, truth.growers)
    club = np.arange(truth.growers) % clubs if clubs else np.arange(truth.growers)
    level = grower_effects(truth, rng, clubs) if clubs else None
    own = grower_effects(truth, rng, truth.growers)
    effects = own if level is None else np.sqrt(0.5) * (level[club] + own)
    lines: list[tuple[float, float, float, float]] = []
    series = 0
    for grower in range(truth.growers):
        for _ in range(rng.integers(1, 4)):
            base = rng.normal(0, 0.5)
            ratios = series_ratios(truth, rng, effects[grower][None])[0]
            kept = np.flatnonzero(rng.random(len(SHARES)) > 0.25)
            for share, ratio in [(0.0, 0.0), *((SHARES[j], ratios[j]) for j in kept)]:
                for _ in range(rng.integers(1, 4) if truth.repeated else 1):
                    lines.append((grower, series, share, base + ratio + rng.normal(0, truth.sd_run)))
            series += 1
    table = np.array(lines)
    log_rate, stopped = table[:, 3], np.zeros(len(table), dtype=bool)
    if truth.stopped:
        bound = np.quantile(log_rate[table[:, 2] == 0], truth.stopped)
        stopped, log_rate = log_rate < bound, np.maximum(log_rate, bound)
    runs = SingleRuns(
        table[:, 0].astype(np.int64), table[:, 1].astype(np.int64), table[:, 2], log_rate, stopped
    )
    new = grower_effects(truth, rng, NEW_GROWERS)
    if level is not None:
        theirs = level if 1 < clubs < 5 else grower_effects(truth, rng, NEW_GROWERS)
        new = np.sqrt(0.5) * (theirs[np.arange(NEW_GROWERS) % len(theirs)] + new)
    ties = Ties(
        {one: frozenset({f"club {club[one]}"}) for one in range(truth.growers)} if clubs else {}, {}, {}
    )
    return DrawnPool(runs, ties, club, series_ratios(truth, rng, new))


def one_pool(seed: int) -> dict[str, Any]:
    """What one pool stated before and after, beside the truth."""
    rng = np.random.default_rng([SEED, seed])
    truth = draw_truth(rng)
    pool = draw_pool(truth, rng)
    cells = cells_from(pool.runs)
    repeat = pool_repeatability(cells.pots, cells.sum_squares, cells.share, cells.member, 0.10)
    start = time.perf_counter()
    given = answer(cells, pool.ties, repeat, NUMBERS)
    given = (
        answer_by_stopped_runs(given, pool.runs, pool.ties, NUMBERS)
        if given.stopped_runs_forbid_clears
        else given
    )
    middle = time.perf_counter()
    record: dict[str, Any] = {
        "seed": seed,
        "growers": truth.growers,
        "stopped": truth.stopped,
        "clubs": truth.clubs,
    }
    record.update(shares=[], flat=bool(np.all(truth.curve == 0)), spread=None)
    if given.fitted is None:
        return record
    found = given.fitted.estimate
    careful = careful_chances(given, pool, repeat.sd)
    new = pool.new[:, np.searchsorted(SHARES, found.design.shares)]
    true = (new > np.log(NUMBERS.target_ratio)).mean(axis=0)
    record["seconds"] = [round(middle - start, 3), round(time.perf_counter() - middle, 3)]
    record["spread"] = float(np.sqrt(given.fitted.heterogeneity.spread))
    prediction = given.fitted.prediction
    before = (prediction.new_low, prediction.new_high)
    plain = plain_verdicts(given.fitted)
    for j in np.flatnonzero(found.units >= 4):
        cover = [
            float(((new[:, j] > low[j]) & (new[:, j] < high[j])).mean())
            for low, high in (before, careful[1:])
        ]
        record["shares"].append(
            {
                "share": float(found.design.shares[j]),
                "verdict": given.fitted.verdicts[j],
                "plain": plain[j] == CLEARS,
                "p": [float(prediction.p_clears[j]), float(careful[0][j])],
                "true": float(true[j]),
                "cover": cover,
            }
        )
    return record


@dataclass(frozen=True)
class PlainChances:
    """Chances of the plain estimate alone, with no care for how uncertain its spread is."""

    series: NewSeries

    def above(self, ratio: float) -> np.ndarray:
        return self.series.above(ratio)

    def pot_above(self, ratio: float) -> np.ndarray:
        return self.series.above(ratio)

    def range(self) -> tuple[np.ndarray, np.ndarray]:
        return self.series.range()

    def clears(self, ratio: float, assurance: float) -> np.ndarray:
        return np.asarray(self.above(ratio) >= assurance)


def plain_verdicts(fitted: Fitted) -> list[str]:
    """Verdicts by the plain estimate with the same refits: what the method before the spread's own uncertainty says."""
    evidence = weigh(
        PlainChances(fitted.prediction.new_series),
        fitted.leave_one_out,
        fitted.others,
        fitted.estimate,
        fitted.evidence.forbidden,
        NUMBERS.target_ratio,
        NUMBERS.assurance,
    )
    return share_verdicts(evidence, NUMBERS.assurance)


def careful_chances(
    given: Answer, pool: DrawnPool, run_sd: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(chance, low, high) per share, each chance as low as every reading of the new methods has it."""
    assert given.fitted is not None
    design, shares = given.fitted.estimate.design, given.fitted.estimate.design.shares
    independent = given.independence
    if pool.runs.stopped.any() and given.stopped_runs_forbid_clears | given.by_censored:
        fixed = independent is not None and independent.offsets is not None
        runs = pool.runs
        laid = lay_out(
            PooledRuns(
                runs.member,
                runs.series,
                pool.club[runs.member],
                runs.share,
                runs.log_rate,
                runs.stopped,
                fixed,
            ),
            run_sd**2,
        )
        both = two_readings(laid, pool.club[laid.member_code], run_sd**2)
        if both is None:
            nothing = np.full(len(shares), np.nan)
            return nothing, nothing, nothing
        at = np.searchsorted(laid.shares, shares)
        low, high = both.plain.range()
        return both.lowest(NUMBERS.target_ratio)[at], low[at], high[at]
    reduced = reduce_layout(design.layout)
    if independent is not None and independent.offsets is not None:
        found = spread_posterior(reduced, prior_scales(design, NUMBERS.reference_share))
        clubs = club_chances(design, found, independent.offsets, NUMBERS.target_ratio)
        chance = np.where(clubs.clears(NUMBERS.assurance), clubs.equal, np.minimum(clubs.equal, 0.799))
        ends = [np.array([float(one.quantile(part)[0]) for one in clubs.series]) for part in (0.025, 0.975)]
        return chance, ends[0], ends[1]
    given_spread = companion(design, reduced, run_sd**2, NUMBERS.target_ratio, NUMBERS.reference_share)
    return given_spread.p_clears, given_spread.new_low, given_spread.new_high


def verdicts_of(record: dict[str, Any], which: int) -> list[bool]:
    """Whether each share clears: before by the plain estimate with all refits, after with the careful chance too. Records of
    an older bench hold no plain verdict; theirs stands for both."""
    return [
        line.get("plain", line["verdict"] == CLEARS)
        if which == 0
        else line["verdict"] == CLEARS and line["p"][1] >= NUMBERS.assurance
        for line in record["shares"]
    ]


def enough_of(record: dict[str, Any], which: int) -> int | None:
    """Place of the smallest share that clears with every larger one, or None."""
    enough = None
    for j in range(len(record["shares"]))[::-1]:
        if not verdicts_of(record, which)[j]:
            break
        enough = j
    return enough


def summary(label: str, records: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """One line before and one after."""
    lines = []
    for which, name in enumerate(("before", "after")):
        shares = [
            (line, ok)
            for one in records
            for line, ok in zip(one["shares"], verdicts_of(one, which), strict=True)
        ]
        cover = [line["cover"][which] for line, _ in shares if np.isfinite(line["p"][which])]
        cleared = [line["true"] for line, ok in shares if ok]
        good = [ok for line, ok in shares if line["true"] >= GOOD]
        named = [(one, enough_of(one, which)) for one in records]
        right = [one["shares"][j]["true"] >= NUMBERS.assurance - NEAR for one, j in named if j is not None]
        flat = [any(verdicts_of(one, which)) for one in records if one["flat"]]
        high = [(line["p"][which], line["true"]) for line, _ in shares if 0.9 <= line["p"][which] < 0.95]
        lines.append(
            {
                "pools": label,
                "which": name,
                "n": len(records),
                "cover": _mean(cover),
                "right clears": _mean([true >= NUMBERS.assurance - NEAR for true in cleared]),
                "enough": _mean([j is not None for _, j in named]),
                "right enough": _mean(right),
                "good given": _mean(good),
                "flat clears": _mean(flat),
                "true at .90-.95": _mean([true for _, true in high]),
                "falls_short of good": _mean(
                    [line["verdict"] == FALLS_SHORT for line, _ in shares if line["true"] >= GOOD]
                ),
            }
        )
    return lines


def _mean(values: list[Any]) -> float | None:
    return float(np.mean(values)) if values else None


def tables(records: list[dict[str, Any]]) -> str:
    """All pools, by number of growers, by fifths of the estimated spread, by what complicates them."""
    told = [one for one in records if one["spread"] is not None]
    found = summary("all", told) if told else []
    for low, high in GROUPS:
        chosen = [one for one in told if low <= one["growers"] <= high]
        found += summary(f"{low}-{high} growers", chosen) if chosen else []
    plain = sorted(
        (one for one in told if not one["stopped"] and not one["clubs"]), key=lambda one: one["spread"]
    )
    for fifth, part in enumerate(np.array_split(np.arange(len(plain)), 5)):
        found += summary(f"spread fifth {fifth + 1}", [plain[j] for j in part]) if len(part) else []
    for label, chosen in (
        ("stopped", [one for one in told if one["stopped"]]),
        ("3 clubs", [one for one in told if one["clubs"] == 3]),
        ("6 clubs", [one for one in told if one["clubs"] == 6]),
    ):
        found += summary(label, chosen) if chosen else []
    return as_table(found)


def make(folder: Path, seeds: range, until: str, pool: Callable[[int], dict[str, Any]]) -> None:
    """Makes the pools that are not in the folder's file yet, one line each; stops at `until` (HH:MM, empty for never). A
    line that a stop cut short is ended first, so that the next one stands by itself."""
    path = folder / "pools.jsonl"
    done = {record["seed"] for record in read_records(path)}
    cut = path.exists() and not path.read_bytes().endswith(b"\n") and path.stat().st_size > 0
    with path.open("a", encoding="utf-8") as stream:
        stream.write("\n" if cut else "")
        for seed in seeds:
            if until and time.strftime("%H:%M") >= until:
                return
            if seed not in done:
                stream.write(json.dumps(pool(seed)) + "\n")
                stream.flush()


def main(arguments: list[str] | None = None) -> int:
    """Makes pools, or prints the tables of those that are there."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--pools", type=int, default=20000)
    parser.add_argument("--from", type=int, default=0, dest="first")
    parser.add_argument("--until", default="")
    parser.add_argument("--table", action="store_true")
    given = parser.parse_args(arguments)
    given.folder.mkdir(parents=True, exist_ok=True)
    start = time.perf_counter()
    if not given.table:
        make(given.folder, range(given.first, given.first + given.pools), given.until, one_pool)
    records = read_records(given.folder / "pools.jsonl")
    sys.stdout.write(f"{len(records)} pools, {time.perf_counter() - start:.0f} s\n\n{tables(records)}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""Calibration of parts of the pool: three levels of 4 to 15 growers, of which the first differs by 0, .1 or .3 on ln, or not.

    python -m tests.bench.calibration_parts FOLDER [--pools 600] [--from 0] [--until 00:58] [--table]

Truths are those of `calibration_random.draw_truth` without stopped clocks and clubs. Resumable as that bench is. The table
says how often a difference is shown, and how often what is enough in a part is right: borrowing, and judged alone.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from pipeline.compare.contrasts.cells import Cells, SingleRuns
from pipeline.compare.contrasts.independence import Ties
from pipeline.compare.contrasts.repeatability import pool_repeatability
from pipeline.compare.verdict.answer import answer
from pipeline.compare.verdict.borrowed import borrowed_parts
from schemas.trade.verdicts import ENOUGH, SHOWN
from tests.bench.calibration import NUMBERS, as_table, read_records
from tests.bench.calibration_pools import SHARES, cells_from
from tests.bench.calibration_random import (
    NEAR,
    NEW_GROWERS,
    Truth,
    draw_truth,
    grower_effects,
    make,
    series_ratios,
)

SEED = 20261129
DIFFERENCES = (0.0, 0.1, 0.3)
LEVELS = 3
NO_TIES = Ties({}, {}, {})


def draw_runs(truth: Truth, shift: np.ndarray, rng: np.random.Generator) -> SingleRuns:
    """One or two series of every grower, each about three quarters of the shares; `shift` (grower) on every mix."""
    lines, number = [], 0
    for grower, effect in enumerate(grower_effects(truth, rng, len(shift)) + shift[:, None]):
        for _ in range(rng.integers(1, 3)):
            level = rng.normal(0, 0.5)
            ratios = series_ratios(truth, rng, effect[None])[0]
            kept = np.flatnonzero(rng.random(len(SHARES)) > 0.25)
            for share, ratio in [(0.0, 0.0), *((SHARES[j], ratios[j]) for j in kept)]:
                lines.append((grower, number, share, level + ratio + rng.normal(0, truth.sd_run)))
            number += 1
    table = np.array(lines)
    return SingleRuns(
        table[:, 0].astype(np.int64), table[:, 1].astype(np.int64), table[:, 2], table[:, 3], np.zeros(len(table), bool)
    )  # fmt: skip


def one_pool(seed: int) -> dict[str, Any]:
    """What one pool said of its parts, beside the truth."""
    rng = np.random.default_rng([SEED, seed])
    truth = replace(draw_truth(rng), stopped=0.0, clubs=0, repeated=False)
    growers = rng.integers(4, 16, LEVELS)
    difference = float(rng.choice(DIFFERENCES)) * float(rng.choice([-1.0, 1.0]))
    level = np.repeat(np.arange(LEVELS), growers)
    cells = cells_from(draw_runs(truth, np.where(level == 0, difference, 0.0), rng))
    repeat = pool_repeatability(cells.pots, cells.sum_squares, cells.share, cells.member, 0.10)
    whole = answer(cells, NO_TIES, repeat, NUMBERS)
    parts = borrowed_parts(whole, level[whole.effects.member], LEVELS, NUMBERS) or ()
    record: dict[str, Any] = {
        "seed": seed,
        "difference": abs(difference),
        "whole": whole.advice.share,
        "parts": [],
    }
    for number, part in enumerate(parts):
        shift = difference if number == 0 else 0.0
        new = series_ratios(truth, rng, grower_effects(truth, rng, NEW_GROWERS) + shift)
        true = dict(
            zip(SHARES.tolist(), (new > np.log(NUMBERS.target_ratio)).mean(axis=0).tolist(), strict=True)
        )
        alone = answer(_of(cells, level == number), NO_TIES, repeat, NUMBERS).advice
        record["parts"].append(
            {
                "growers": int(growers[number]),
                "differs": number == 0 and difference != 0,
                "shown": part.level is not None and part.level.word == SHOWN,
                "borrowed": true[part.advice.share]
                if part.advice.verdict == ENOUGH and part.advice.share
                else None,
                "alone": true[alone.share] if alone.verdict == ENOUGH and alone.share else None,
                "same": part.advice.share == whole.advice.share if whole.advice.share else None,
                "alone_same": alone.share == whole.advice.share if whole.advice.share else None,
                "at_whole": true[whole.advice.share] if whole.advice.share else None,
            }
        )
    return record


def _of(cells: Cells, growers: np.ndarray) -> Cells:
    return cells.chosen(np.asarray(growers[cells.member]))


def lines(records: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """One line per difference, of the level that differs and of those that do not."""
    for difference in DIFFERENCES:
        chosen = [one for one in records if one["difference"] == difference]
        for differs in (True, False):
            parts = [part for one in chosen for part in one["parts"] if part["differs"] == differs]
            if parts:
                yield _line(f"{difference:g}, {'the one' if differs else 'others'}", parts)


def _line(label: str, parts: list[dict[str, Any]]) -> dict[str, Any]:
    def known(name: str) -> float | None:
        return _mean([part[name] for part in parts if part[name] is not None])

    def right(name: str) -> float | None:
        return _mean([part[name] >= NUMBERS.assurance - NEAR for part in parts if part[name] is not None])

    return {
        "difference": label,
        "parts": len(parts),
        "shown": _mean([part["shown"] for part in parts]),
        "enough": _mean([part["borrowed"] is not None for part in parts]),
        "right": right("borrowed"),
        "as the whole": known("same"),
        "alone: enough": _mean([part["alone"] is not None for part in parts]),
        "alone: right": right("alone"),
        "alone: as the whole": known("alone_same"),
        "whole's share right": right("at_whole"),
    }


def _mean(values: list[Any]) -> float | None:
    return float(np.mean(values)) if values else None


def main(arguments: list[str] | None = None, pool: Callable[[int], dict[str, Any]] = one_pool) -> int:
    """Makes pools, or prints the table of those that are there."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--pools", type=int, default=600)
    parser.add_argument("--from", type=int, default=0, dest="first")
    parser.add_argument("--until", default="")
    parser.add_argument("--table", action="store_true")
    given = parser.parse_args(arguments)
    given.folder.mkdir(parents=True, exist_ok=True)
    if not given.table:
        make(given.folder, range(given.first, given.first + given.pools), given.until, pool)
    records = read_records(given.folder / "pools.jsonl")
    sys.stdout.write(f"{len(records)} pools\n\n{as_table(list(lines(records)))}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())

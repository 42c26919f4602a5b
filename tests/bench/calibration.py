"""Calibration of the comparison: many invented pools with a known truth, by row and seed, resumable.

    python -m tests.bench.calibration FOLDER [--pools 400] [--rows 0-49,3] [--table]

Each row is one cell of a stated fraction of the grid complication x structure x members x truth x repeats; each pool of a row is one
line in FOLDER/row-NN.jsonl, so a run that was stopped goes on where it ended. `--table` prints what has been found.
True figures come from drawing new series from the generator itself, so every structure has its own truth.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from pipeline.compare.contrasts.repeatability import pool_repeatability
from pipeline.compare.stopped.answer import answer_by_stopped_runs
from pipeline.compare.verdict.answer import Answer, Numbers, answer
from schemas.trade.verdicts import ENOUGH, FALLS_SHORT
from tests.bench.calibration_pools import SHARES, Pool, Row, cells_from, draw_pool, new_series, rows

NUMBERS = Numbers(1.25, 0.80, 40.0)
DRAWS = 4000
NEAR = 0.05


def compare_pool(pool: Pool) -> Answer:
    """The stage's answer for a drawn pool, capped pools by the censored likelihood."""
    cells = cells_from(pool.runs)
    repeat = pool_repeatability(cells.pots, cells.sum_squares, cells.share, cells.member, 0.10)
    given = answer(cells, pool.ties, repeat, NUMBERS)
    return (
        answer_by_stopped_runs(given, pool.runs, pool.ties, NUMBERS)
        if given.stopped_runs_forbid_clears
        else given
    )


def truth_from(row: Row, draws: int, levels: np.ndarray | None) -> tuple[np.ndarray, np.ndarray]:
    """(mean ln ratio, probability of the target) per share, over new series drawn from the generator."""
    truth = new_series(row, np.random.default_rng([7, row.number]), draws, levels)
    return truth.mean(axis=0), (truth > np.log(NUMBERS.target_ratio)).mean(axis=0)


@cache
def truth_of(row: Row) -> tuple[np.ndarray, np.ndarray]:
    """The same where it does not depend on the pool."""
    return truth_from(row, 25 * DRAWS, None)


def one_pool(row: Row, seed: int) -> dict[str, Any]:
    """What one pool stated, beside the truth."""
    rng = np.random.default_rng([20261125, row.number, seed])
    start = time.perf_counter()
    pool = draw_pool(row, rng)
    given = compare_pool(pool)
    spent = time.perf_counter() - start
    mean, p_true = truth_of(row) if pool.levels is None else truth_from(row, DRAWS, pool.levels)
    fresh = new_series(row, rng, 1, pool.levels)[0]
    record: dict[str, Any] = {
        "seed": seed,
        "seconds": round(spent, 3),
        "shares": [],
        "censored": given.by_censored,
    }
    record["verdict"], record["share"] = given.advice.verdict, given.advice.share
    if given.fitted is None:
        return record
    shares, prediction = given.fitted.estimate.design.shares, given.fitted.prediction
    for column, share in enumerate(shares):
        j = int(np.searchsorted(SHARES, share))
        if given.fitted.estimate.units[column] < 3 or not np.isfinite(prediction.p_clears[column]):
            continue
        record["shares"].append(
            {
                "share": float(share),
                "verdict": given.fitted.verdicts[column],
                "p": float(prediction.p_clears[column]),
                "p_true": float(p_true[j]),
                "ci": bool(prediction.low[column] <= mean[j] <= prediction.high[column]),
                "pi": bool(prediction.new_low[column] <= fresh[j] <= prediction.new_high[column]),
            }
        )
    record["looser"] = looser_share(record["shares"])
    return record


def looser_share(lines: list[dict[str, Any]]) -> float | None:
    """The share that would be enough if a larger one blocked only when it falls short or its p_clears is below 0.5."""
    enough = None
    for line in sorted(lines, key=lambda one: -one["share"]):
        if line["verdict"] == "too_few":
            continue
        if line["verdict"] == "clears":
            enough = line["share"]
        elif line["verdict"] == FALLS_SHORT or line["p"] < 0.5:
            break
    return enough


def run_row(row: Row, folder: Path, pools: int) -> None:
    """Makes the pools of a row that are not in its file yet."""
    path = folder / f"row-{row.number:02d}.jsonl"
    done = {record["seed"] for record in read_records(path)}
    with path.open("a", encoding="utf-8") as stream:
        for seed in range(pools):
            if seed not in done:
                stream.write(json.dumps(one_pool(row, seed)) + "\n")
                stream.flush()


def read_records(path: Path) -> list[dict[str, Any]]:
    """Records of a row; a last line cut short by a stop is left out."""
    if not path.exists():
        return []
    lines = path.read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines if line.endswith("}")]


def summary(row: Row, records: list[dict[str, Any]]) -> dict[str, Any]:
    """Coverages, false and right `clears`, shortfall, stated against true p_clears of one row."""
    lines = [line for record in records for line in record["shares"]]
    clears = [line for line in lines if line["verdict"] == "clears"]
    named = [record for record in records if record["verdict"] == ENOUGH]
    return {
        "row": row.number,
        "complication": row.complication,
        "structure": row.structure,
        "members": row.members,
        "truth": row.truth,
        "repeated": row.repeated,
        "pools": len(records),
        "ci": _part(line["ci"] for line in lines),
        "pi": _part(line["pi"] for line in lines),
        "any_clears": _part(
            any(line["verdict"] == "clears" for line in record["shares"]) for record in records
        ),
        "right_clears": _part(line["p_true"] >= NUMBERS.assurance - NEAR for line in clears),
        "near_clears": _part(line["p_true"] >= NUMBERS.assurance - 2 * NEAR for line in clears),
        "shortfall": float(np.mean([max(NUMBERS.assurance - line["p_true"], 0.0) for line in clears]))
        if clears
        else None,
        "stated_less_true": float(np.mean([line["p"] - line["p_true"] for line in lines])) if lines else None,
        "enough": _part(record["verdict"] == ENOUGH for record in records),
        "right_enough": _part(_true_at(record, record["share"]) for record in named),
        "looser_enough": _part(record.get("looser") is not None for record in records),
        "right_looser": _part(
            _true_at(one, one["looser"]) for one in records if one.get("looser") is not None
        ),
        "seconds": float(np.mean([record["seconds"] for record in records])) if records else None,
    }


def by_stated(records: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Stated beside true p_clears, in tenths of the stated one."""
    pairs = np.array([(line["p"], line["p_true"]) for record in records for line in record["shares"]])
    tenth = np.minimum((10 * pairs[:, 0]).astype(int), 9)
    return [
        {
            "stated": f"{one / 10:.1f}-{(one + 1) / 10:.1f}",
            "shares": int((tenth == one).sum()),
            "mean_stated": float(pairs[tenth == one, 0].mean()),
            "mean_true": float(pairs[tenth == one, 1].mean()),
        }
        for one in range(10)
        if (tenth == one).any()
    ]


def _true_at(record: dict[str, Any], share: float | None) -> bool:
    return any(
        line["share"] == share and line["p_true"] >= NUMBERS.assurance - NEAR for line in record["shares"]
    )


def _part(flags: Iterator[bool]) -> float | None:
    values = list(flags)
    return float(np.mean(values)) if values else None


def as_table(found: list[dict[str, Any]]) -> str:
    """A table in plain text, one line per row."""
    names = list(found[0]) if found else []
    cells = [[_cell(one[name]) for name in names] for one in found]
    return "\n".join("| " + " | ".join(line) + " |" for line in [names, ["---"] * len(names), *cells])


def _cell(value: Any) -> str:
    if value is None:
        return "-"
    return f"{value:.3f}" if isinstance(value, float) else str(value)


def chosen_rows(wanted: str) -> list[Row]:
    """Rows by number in the order asked for: "0-4,12" gives 0 to 4, then 12."""
    every = {row.number: row for row in rows()}
    numbers: list[int] = []
    for part in wanted.split(","):
        first, _, last = part.partition("-")
        numbers += range(int(first), int(last or first) + 1)
    return [every[number] for number in numbers]


def main(arguments: list[str] | None = None) -> int:
    """Runs rows, or prints the table of what is there."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--pools", type=int, default=400)
    parser.add_argument("--rows", default="0-49")
    parser.add_argument("--table", action="store_true")
    given = parser.parse_args(arguments)
    given.folder.mkdir(parents=True, exist_ok=True)
    chosen = chosen_rows(given.rows)
    for row in [] if given.table else chosen:
        run_row(row, given.folder, given.pools)
    found = [(row, read_records(given.folder / f"row-{row.number:02d}.jsonl")) for row in chosen]
    found = [(row, records) for row, records in found if records]
    sys.stdout.write(as_table([summary(row, records) for row, records in found]) + "\n\n")
    sys.stdout.write(as_table(by_stated([one for _, records in found for one in records])) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())

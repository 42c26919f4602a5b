"""Slips planted at random in simulated pools: those of the waiting kind move no headline before they are answered, and
honest slow pots are left in peace. At the level of stages: runs in, what waits and the headline out.

`python -m tests.story.test_planted_slips 200` prints the measured figures.
"""

from __future__ import annotations

import math
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import Any

import numpy as np
import polars as pl
import pytest

from pipeline.compare.steps import compare_runs
from pipeline.normalise.steps import add_rates
from pipeline.settings import Settings
from schemas.frame_types import polars_type
from schemas.kinds.run import RUN
from schemas.trade.labels import label_key
from schemas.trade.slips import IMPERIAL_CUP_ML, US_CUP_ML
from schemas.trade.waiting.far_off import far_off

SCHEMA = {kept.name: polars_type(kept.frame) for kept in RUN.kept}
SHARES = ((0, 20, 40, 60), (0, 15, 30, 45, 60), (0, 25, 50), (0, 10, 20, 30, 40, 50, 60), (0, 40))
DIP, TOP = -0.10, 1.0
"""ln ratio of a small share of grains, and of 60 %."""
SLIPS = {"60-fold": 60.0, "10-fold": 10.0, "cup": IMPERIAL_CUP_ML / US_CUP_ML}


def pool(seed: int, slow_pots: bool = False) -> tuple[pl.DataFrame, int]:
    """An invented pool of 4 to 20 members, and how many series it has: growers, series, mixes, pots and pours differ as in the
    field (sd of ln: level .45, slope .25, series .15, mix .10, pot .10). `slow_pots`: in every series one honest pot up to 4
    times as slow."""
    rng = np.random.default_rng([20260528, seed])
    rows: list[dict[str, Any]] = []
    series = 0
    for member in range(int(rng.integers(4, 21))):
        level, slope = rng.normal(0, 0.45), rng.normal(0, 0.25)
        for label in range(int(rng.integers(1, 3))):
            series += 1
            start = len(rows)
            own, litres = rng.normal(0, 0.15), float(rng.choice([0.3, 0.5, 1.0, 1.0, 1.8, 4.0]))
            pots, pours = int(rng.integers(1, 4)), int(rng.integers(1, 3))
            for share in SHARES[int(rng.integers(len(SHARES)))]:
                mix = rng.normal(0, 0.10)
                for pot in range(1, pots + 1):
                    filling = rng.normal(0, 0.10)
                    for pour in range(1, pours + 1):
                        x = share / 100
                        ratio = (
                            (DIP * min(1.0, share / 15) + (TOP - DIP) * max(0.0, x - 0.15) / 0.45 + slope * x)
                            if share
                            else 0.0
                        )
                        ln_rate = (
                            level + own + mix + filling + ratio - 0.25 * (pour - 1) + rng.normal(0, 0.04)
                        )
                        seconds = 150 / 30 * 60 * math.exp(-ln_rate)
                        rows.append(run(member, label, share, pot, pour, litres, seconds))
            if slow_pots:
                slow = rows[int(rng.integers(start, len(rows)))]
                slow["drain_time_s"] *= math.exp(rng.uniform(0, math.log(4)))
    return pl.DataFrame(rows, schema=SCHEMA, orient="row"), series


def run(
    member: int, label: int, share: int, pot: int, pour: int, litres: float, seconds: float
) -> dict[str, Any]:
    """A canonical run: half of 300 ml a litre collected."""
    code, series = f"m{member}", f"s{label}"
    return {
        **dict.fromkeys(SCHEMA),
        "member": code,
        "series": series,
        "member_key": label_key(code),
        "series_key": label_key(series),
        "tested_on": date(2026, 3, 1),
        "climate_zone": "Cfb",
        "setup_type": "rack",
        "base": "sphagnum_peat",
        "component": "perlite",
        "component_grade": "medium",
        "component_share": float(share),
        "pot_no": pot,
        "pour_no": pour,
        "pot_volume_ml": 1000 * litres,
        "pot_volume_computed": False,
        "poured_ml": 300 * litres,
        "collected_ml": 150 * litres,
        "drain_time_s": seconds,
        "ended": "reached",
        "submission": f"{member:064x}",
        "sheet_row": 2,
        "part_marked": False,
        "unlike_pour": False,
    }


def planted(runs: pl.DataFrame, kind: str, seed: int) -> tuple[pl.DataFrame, int]:
    """The pool with one slip in a random run, and that run's row: the time too long or too short, or all that was collected in
    the cups of another country."""
    rng = np.random.default_rng([7, seed, list(SLIPS).index(kind)])
    row, up = int(rng.integers(runs.height)), bool(rng.integers(2))
    column = "collected_ml" if kind == "cup" else "drain_time_s"
    factor = SLIPS[kind] if up else 1 / SLIPS[kind]
    here = pl.int_range(pl.len()) == row
    return runs.with_columns(pl.when(here).then(pl.col(column) * factor).otherwise(column).alias(column)), row


def waiting_rows(runs: pl.DataFrame) -> list[int]:
    rows: list[int] = far_off(runs).drop_nulls("factor")["row"].to_list()
    return rows


def headline(runs: pl.DataFrame) -> tuple[Any, ...]:
    """The recommendation and every share's verdict."""
    found = compare_runs(add_rates(runs), Settings(), behind=False).components["perlite"]
    verdicts = [(line["share"], line["verdict"]) for line in found["shares"]]
    return (found["recommendation"]["verdict"], found["recommendation"]["share"], *verdicts)


def outcome(seed: int, kind: str) -> str:
    """What became of a planted slip: it `waits` alone, `fellows` wait with it or in its place, or it is `counted`."""
    runs, row = planted(pool(seed)[0], kind, seed)
    waiting = waiting_rows(runs)
    return "counted" if not waiting else "waits" if waiting == [row] else "fellows"


def moves(seed: int, kind: str) -> bool:
    """Whether a planted slip moves the headline before it is answered: that of the runs that are counted, beside that of the
    same pool without the planted run."""
    runs, row = planted(pool(seed)[0], kind, seed)
    rows = pl.int_range(pl.len())
    counted = runs.filter(~rows.is_in(waiting_rows(runs)))
    return headline(counted) != headline(runs.filter(rows != row))


def slow_series(seeds: range) -> tuple[int, int]:
    """Series with an honest slow pot that have a run which waits, and all such series."""
    waits = total = 0
    for seed in seeds:
        runs, series = pool(seed, slow_pots=True)
        asked = runs[waiting_rows(runs)]
        waits, total = waits + asked.select("member_key", "series_key").n_unique(), total + series
    return waits, total


def check_slips(seeds: range) -> None:
    became = {kind: Counter(outcome(seed, kind) for seed in seeds) for kind in SLIPS}
    assert all(count["fellows"] == 0 for count in became.values()), "an ordinary fellow was asked about"
    assert became["60-fold"] == {"waits": len(seeds)}
    assert became["10-fold"]["waits"] >= 0.8 * len(seeds), (
        "one that scatters to less than 8 times is asked about as before"
    )
    assert became["cup"] == {"counted": len(seeds)}
    waits, total = slow_series(seeds)
    assert waits < 0.01 * total, (waits, total)


def test_planted_slips_wait_alone_and_honest_slow_pots_do_not_in_a_few_pools() -> None:
    check_slips(range(15))


@pytest.mark.deep
def test_planted_slips_wait_alone_and_honest_slow_pots_do_not_in_many_pools() -> None:
    check_slips(range(200))


@pytest.mark.deep
def test_a_slip_of_the_waiting_kind_moves_no_headline_before_it_is_answered() -> None:
    for kind in ("60-fold", "10-fold"):
        waiting = [seed for seed in range(200) if outcome(seed, kind) == "waits"][:20]
        assert not any(moves(seed, kind) for seed in waiting)


def measured(seeds: range) -> Iterator[str]:
    """The figures of the deep round, a line each."""
    for kind in SLIPS:
        became = {seed: outcome(seed, kind) for seed in seeds}
        yield f"{kind}: {dict(Counter(became.values()))}"
        counted = [seed for seed in seeds if became[seed] == "counted"]
        yield f"  counted ones that move the headline: {sum(moves(seed, kind) for seed in counted[:20])} of {len(counted[:20])}"
    yield f"honest slow pots: series that wait, of all: {slow_series(seeds)}"
    yield f"pools without a slip in which a run waits: {sum(bool(waiting_rows(pool(seed)[0])) for seed in seeds)}"


if __name__ == "__main__":
    for line in measured(range(int(sys.argv[1]))):
        sys.stdout.write(line + "\n")

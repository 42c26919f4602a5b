"""Draws the invented federation's demo from its stated truth and writes it: run `python -m
contrib_samples.simulator` to make `contrib_samples/demo` again, byte for byte.

The seed was fixed before any sheet was drawn and is not to be chosen by what comes out.
"""

from __future__ import annotations

import json
import shutil
from collections import defaultdict
from math import exp
from pathlib import Path
from typing import Any

from contrib_samples import truth
from contrib_samples.federation import CLUBS, MEMBERS
from contrib_samples.sheets import Sheet, draw_sheets
from contrib_samples.spellings import Run

SEED = 20260301
DEMO = Path(__file__).parent / "demo"
# shares that the comparison joins to a neighbour within 2 points that more members measured
JOINED = {14.3: 15.0, 33.0: 33.3}


def demo_files(seed: int = SEED) -> dict[str, bytes]:
    """Every file of the demo folder by its path there: the run sheets and `truth.json`."""
    sheets = draw_sheets(seed)
    files = {sheet.path: sheet.content for sheet in sheets}
    told = json.dumps(truth_of(sheets, seed), indent=1, ensure_ascii=False) + "\n"
    files["truth.json"] = told.encode("utf-8")
    return files


def truth_of(sheets: list[Sheet], seed: int) -> dict[str, Any]:
    """What was put in: curves, spreads, the averages over the growers sampled, and the rows meant to be held."""
    runs = _usable(sheets)
    months = sorted({sheet.path[:7] for sheet in sheets})
    return {
        "about": "Invented data: not growing advice. What the simulator was told, not what the pool found.",
        "seed": seed,
        "target_ratio": truth.TARGET_RATIO,
        "assurance": truth.ASSURANCE,
        "sd": {
            "member": truth.SD_MEMBER,
            "member_slope": truth.SD_MEMBER_SLOPE,
            "series": truth.SD_SERIES,
            "mix": truth.SD_MIX,
            "filling": truth.SD_FILLING,
            "pour": truth.SD_POUR,
        },
        "grades": {grade: truth.stated_table(grade) for grade in truth.FRESH},
        "as_sampled": {
            month: {
                state: {
                    "pooled": as_sampled(runs, month, pour),
                    **{grade: as_sampled(runs, month, pour, grade) for grade in truth.FRESH},
                }
                for state, pour in (("fresh", 1), ("settled", 2))
            }
            for month in months
        },
        "counts": {"clubs": len(CLUBS), "members": len(MEMBERS), **_counts(sheets, months)},
        "held": {
            sheet.path: [{"row": row.row, "column": row.column, "why": row.why} for row in sheet.held]
            for sheet in sheets
            if sheet.held
        },
    }


def as_sampled(runs: list[tuple[str, Run]], until: str, pour: int, grade: str = "") -> list[dict[str, Any]]:
    """True average per share over the members who measured it by the end of a month (perlite in peat, no dry
    start, beside their own straight base), each member counting once, and the average probability to clear."""
    cells = {
        (run.member.code, run.series, run.share)
        for month, run in runs
        if month <= until and run.pour_no == pour and grade in ("", run.series.grade)
    }
    by_share: dict[float, dict[str, list[tuple[float, float]]]] = defaultdict(lambda: defaultdict(list))
    for code, series, share in sorted(cells, key=lambda cell: (cell[0], cell[1].label, cell[2])):
        if share and (code, series, 0.0) in cells:
            average = truth.ln_ratio(series.grade, share, pour, series.setup)
            clears = truth.p_clears(average, share)
            by_share[JOINED.get(share, share)][code].append((average, clears))
    table = []
    for share, members in sorted(by_share.items()):
        average = _mean([_mean([pair[0] for pair in pairs]) for pairs in members.values()])
        clears = _mean([_mean([pair[1] for pair in pairs]) for pairs in members.values()])
        table.append(
            {
                "share": share,
                "ln_ratio": round(average, 4),
                "ratio": round(exp(average), 4),
                "p_clears": round(clears, 3),
                "members": len(members),
            }
        )
    return table


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)


def _usable(sheets: list[Sheet]) -> list[tuple[str, Run]]:
    """Runs with the month received that the headline may use: accepted, half of the pour, fresh mix, no dry start."""
    usable = []
    for sheet in sheets:
        held = {row.spot for row in sheet.held if row.column}
        for run in sheet.runs:
            series = run.series
            headline = series.component == "perlite" and series.base == "sphagnum_peat"
            headline = (
                headline and not series.dry and not series.mix_age_weeks and series.collected_part == 0.5
            )
            if headline and run.spot not in held and run.ended != "ran_dry":
                usable.append((sheet.path[:7], run))
    return usable


def _counts(sheets: list[Sheet], months: list[str]) -> dict[str, Any]:
    of_month = {month: [sheet for sheet in sheets if sheet.path.startswith(month)] for month in months}
    return {
        "series": len({(run.member.code, run.series.label) for sheet in sheets for run in sheet.runs}),
        "sheets": {month: len(of) for month, of in of_month.items()},
        "rows": {month: sum(sheet.rows for sheet in of) for month, of in of_month.items()},
        "held": {month: sum(len(sheet.held) for sheet in of) for month, of in of_month.items()},
        "members_by_then": {
            month: len({run.member.code for sheet in sheets if sheet.path[:7] <= month for run in sheet.runs})
            for month in months
        },
    }


def write_demo(folder: Path = DEMO) -> None:
    """Writes the demo into `folder` in place of what stood there."""
    if folder.exists():
        shutil.rmtree(folder)
    for path, content in demo_files().items():
        file = folder / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)


if __name__ == "__main__":
    write_demo()

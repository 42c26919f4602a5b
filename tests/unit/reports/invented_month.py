"""Invented months in the exact shapes of the contract, drawn from a stated truth without the compare stage."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from datetime import date
from typing import Any, cast

import polars as pl

from pipeline.jobs.month.shown import MonthFrames, shown
from reports.view import MonthView
from schemas.kinds.run import RUN
from schemas.results.whole import ResultsValue
from schemas.settings import SETTINGS

SHARES = (15.0, 25.0, 33.3, 45.0, 55.0, 65.0)
TRUTH = {"fine": 0.55, "medium": 0.85, "coarse": 1.1}
CLASSES = ("Cfb", "Cfa", "Dfb", "Csb", "Dfa", "BSk")
SETUPS = ("rack", "strainer", "sieve", "jug_rim")
GRADES = tuple(TRUTH)
NOT_KNOWN = "too few growers"


def invented_view(members: int = 30, seed: int = 7, **changes: Any) -> MonthView:
    """A whole month of `members` growers; `changes` replace fields of the view."""
    draw = random.Random(seed)  # noqa: S311 - an invented month, not a secret
    effects = [row for number in range(members) for row in _effects(number, draw)]
    figures, runs = cast(ResultsValue, results(effects, members)), _runs(effects, draw)
    frames = MonthFrames(
        pl.DataFrame(effects, schema=EFFECTS), pl.DataFrame(_members(effects), schema=MEMBERS), runs
    )
    view = MonthView(
        results=figures,
        effects=frames.effects,
        members=frames.members,
        runs=runs,
        shown=shown(figures, frames),
        held_by_rule=pl.DataFrame(
            {
                "rule": ["unit_missing", "share_fraction", "time_short"],
                "title": ["A number without a unit", "A share that looks like a fraction", "Too short"],
                "level": ["held", "held", "advice"],
                "rows": [12, 3, 5],
            }
            if members
            else {"rule": [], "title": [], "level": [], "rows": []},
            schema={"rule": pl.String, "title": pl.String, "level": pl.String, "rows": pl.Int64},
        ),
        received={"sheets": members, "rows": 6 * members + 15, "accepted": 6 * members, "held": 15}
        if members
        else {"sheets": 0, "rows": 0, "accepted": 0, "held": 0},
    )
    return replace(view, **changes)


EFFECTS = {
    "component": pl.String, "grade": pl.String, "member": pl.String, "series": pl.String, "club": pl.String,
    "setup_type": pl.String, "climate_zone": pl.String, "pot_volume_ml": pl.Float64, "component_share": pl.Float64,
    "effect": pl.Float64, "ratio": pl.Float64, "variance": pl.Float64, "pots": pl.Int64, "baseline_pots": pl.Int64, "state": pl.String,
}  # fmt: skip
MEMBERS = {
    "component": pl.String, "state": pl.String, "member": pl.String, "component_share": pl.Float64, "ratio": pl.Float64,
    "ratio_low": pl.Float64, "ratio_high": pl.Float64, "series": pl.Int64, "pots": pl.Int64,
}  # fmt: skip


def _effects(number: int, draw: random.Random) -> list[dict[str, Any]]:
    own, slope = draw.gauss(0, 0.12), draw.gauss(0, 0.2)
    rows = []
    for series in range(1 + number % 2):
        grade = GRADES[(number + series) % 3]
        batch = draw.gauss(0, 0.08)
        shares = SHARES if number % 3 else SHARES[1:5]
        for share in shares:
            x = share / 100
            effect = (
                (-0.3 * x + TRUTH[grade] * max(0.0, x - 0.2) * 1.6)
                + own
                + slope * x
                + batch
                + draw.gauss(0, 0.08)
            )
            rows.append({
                "component": "perlite", "grade": grade, "member": f"fen-{number:02d}", "series": f"bench {series + 1}",
                "club": f"club-{number % 5}", "setup_type": SETUPS[number % 4], "climate_zone": CLASSES[number % 6],
                "pot_volume_ml": (500.0, 1000.0, 2000.0)[number % 3], "component_share": share, "effect": effect,
                "ratio": math.exp(effect), "variance": 0.02, "pots": 2, "baseline_pots": 2, "state": "fresh",
            })  # fmt: skip
    return rows


def _members(effects: list[dict[str, Any]]) -> list[dict[str, Any]]:
    groups: dict[tuple[str, float], list[float]] = {}
    for row in effects:
        groups.setdefault((row["member"], row["component_share"]), []).append(row["effect"])
    rows = []
    for (member, share), found in groups.items():
        mean, reach = sum(found) / len(found), 1.96 * math.sqrt(0.02 / len(found))
        rows.append({
            "component": "perlite", "state": "fresh", "member": member, "component_share": share, "ratio": math.exp(mean),
            "ratio_low": math.exp(mean - reach), "ratio_high": math.exp(mean + reach), "series": len(found), "pots": 2 * len(found),
        })  # fmt: skip
    return rows


def _runs(effects: list[dict[str, Any]], draw: random.Random) -> pl.DataFrame:
    kinds: dict[str, Any] = {
        "text": pl.String,
        "date": pl.String,
        "number": pl.Float64,
        "whole": pl.Int64,
        "flag": pl.Boolean,
    }
    schema = {column.name: kinds[column.frame] for column in RUN.kept if column.published}
    schema["rate_ml_min_l"] = pl.Float64
    rows = []
    for effect in [
        *({**row, "component_share": 0.0, "ratio": 1.0} for row in effects if row["component_share"] == 25.0),
        *effects,
    ]:
        rate = 14.0 * effect["ratio"] * math.exp(draw.gauss(0, 0.05))
        row = dict.fromkeys(schema) | {
            "member": effect["member"], "series": effect["series"], "tested_on": date(2026, 4, 3).strftime("%Y-%m"),
            "climate_zone": effect["climate_zone"], "setup_type": effect["setup_type"], "pot_volume_ml": effect["pot_volume_ml"],
            "pot_volume_computed": False, "base": "sphagnum_peat", "component": "perlite", "component_grade": effect["grade"],
            "component_share": effect["component_share"], "pot_no": 1, "pour_no": 1, "poured_ml": 300.0, "collected_ml": 150.0,
            "drain_time_s": 150.0 / (rate * effect["pot_volume_ml"] / 1000) * 60, "ended": "reached", "start_moisture": "moist",
            "club": effect["club"], "submission": "ab" * 32, "sheet_row": 2, "part_marked": False, "unlike_pour": False, "rate_ml_min_l": rate,
        }  # fmt: skip
        rows.append(row)
    return pl.DataFrame(rows, schema=schema)


def results(effects: list[dict[str, Any]], members: int, month: str = "2026-05") -> dict[str, Any]:
    """A `results.json` value with the pooled figures of the effects by plain moments (not the compare stage's)."""
    grades = {grade: _table([row for row in effects if row["grade"] == grade]) for grade in GRADES}
    pooled = _table(effects)
    component = {
        **pooled,
        "settled": {"shares": [], "recommendation": NOTHING, "why": "no second pours yet"},
        "grades": {
            grade: table if table["shares"] else {"why": "no series"} for grade, table in grades.items()
        },
        "bases": {},
    }
    return {
        "month": month, "open": False, "edition": 1, "as_of": f"{month}-31T23:59:59Z", "invented": True, "scope": "any grower",
        "counts": {"members": members, "series": len({(row["member"], row["series"]) for row in effects}), "runs": 6 * members, "held": 15 if members else 0},
        "settings": {setting.name: setting.default for setting in SETTINGS} | {"pool_name": "Five Fens pool", "small_shares": []},
        "waits": 0,
        "components": {"perlite": component} if effects else {},
    }  # fmt: skip


NOTHING = {
    "share": None, "parts": None, "verdict": "too_few", "text": "", "deciding_state": "fresh", "ratio": None, "ci": None,
    "new_series": None, "p_clears": None, "p_all": None, "behind": None,
}  # fmt: skip
PARTS = {15.0: None, 25.0: "3:1", 33.3: "2:1", 45.0: "1:1", 55.0: "4:5", 65.0: "1:2"}


def _table(effects: list[dict[str, Any]]) -> dict[str, Any]:
    shares = [_share(share, [row for row in effects if row["component_share"] == share]) for share in SHARES]
    shares = [row for row in shares if row["series"]]
    return {
        "shares": shares,
        "heterogeneity": {"sd_member": 0.14, "sd_series": 0.11, "i2": 0.7},
        "repeatability": {"cv_pot": 0.08, "cv_member": 0.22},
        "recommendation": _recommendation(shares),
    }


def _recommendation(shares: list[dict[str, Any]]) -> dict[str, Any]:
    if all(row["verdict"] == "too_few" for row in shares):
        return NOTHING
    enough = None
    for row in reversed(shares):
        if row["verdict"] != "clears":
            break
        enough = row["share"]
    if enough is None:
        return {**NOTHING, "verdict": "not_reached", "text": "not reached"}
    return advised(enough, PARTS[enough], shares, "fresh")


def advised(share: float, parts: str | None, shares: list[dict[str, Any]], state: str) -> dict[str, Any]:
    """A recommendation with the figures of its share, as the contract writes it."""
    row = next(row for row in shares if row["share"] == share)
    figures = {name: row[name] for name in ("ratio", "ci", "new_series", "p_clears")}
    behind = {"members": row["members"], "series": row["series"], "pots": 2 * row["series"]}
    return {
        "share": share, "parts": parts, "verdict": "enough", "text": "", "deciding_state": state, **figures,
        "p_all": row["p_clears"], "behind": behind,
    }  # fmt: skip


def _share(share: float, rows: list[dict[str, Any]]) -> dict[str, Any]:
    by_member: dict[str, list[float]] = {}
    for row in rows:
        by_member.setdefault(row["member"], []).append(row["effect"])
    means = [sum(found) / len(found) for found in by_member.values()]
    count = len(means)
    base = {"share": share, "members": count, "series": len({(row["member"], row["series"]) for row in rows})}
    if count < 3:
        nothing = dict.fromkeys(
            ("ratio", "ci", "new_series", "p_faster", "p_clears", "p_faster_pot", "p_clears_pot")
        )
        return base | nothing | {"verdict": "too_few", "why": NOT_KNOWN}
    mean = sum(means) / count
    sd = max(0.05, math.sqrt(sum((one - mean) ** 2 for one in means) / (count - 1)))
    se, pot = sd / math.sqrt(count), math.sqrt(sd**2 + 2 * 0.08**2)
    clears = _above(mean, math.log(1.25), sd)
    verdict = (
        "too_few"
        if count < 5
        else "clears"
        if clears >= 0.8
        else "falls_short"
        if clears <= 0.2
        else "undecided"
    )
    return base | {
        "ratio": math.exp(mean), "ci": [math.exp(mean - 2.1 * se), math.exp(mean + 2.1 * se)],
        "new_series": [math.exp(mean - 2.1 * sd), math.exp(mean + 2.1 * sd)], "p_faster": _above(mean, 0.0, sd), "p_clears": clears,
        "p_faster_pot": _above(mean, 0.0, pot), "p_clears_pot": _above(mean, math.log(1.25), pot), "verdict": verdict,
    }  # fmt: skip


def _above(mean: float, line: float, sd: float) -> float:
    return 0.5 * math.erfc((line - mean) / sd / math.sqrt(2))

"""A plan from a pool: what it knows of shares and scatter, what the member tested with before, and the plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import log1p, sqrt
from pathlib import Path
from typing import cast
from zlib import crc32

import polars as pl

from pipeline.errors import DrainpoolError, WrongUseError
from pipeline.jobs.pool_view import is_pool
from pipeline.jobs.query.part import Part
from pipeline.jobs.query.steps import answer
from pipeline.jobs.receiving.checking import pool_settings
from pipeline.load.views.reading import runs_in_force
from pipeline.plan.steps import Known, Plan, Wish, plan_test
from pipeline.plan.wanted import KnownShare
from schemas.results.component import ComponentValue
from schemas.trade.labels import label_key
from schemas.vocabulary import CHOICES

SEEDS = 10_000
USUAL_COMPONENT = "perlite"


@dataclass(frozen=True)
class Asked:
    """What was typed. member: a code or None; shares in percent, empty for the most wanted; seed None: made from the
    rest, so that the same words give the same plan."""

    member: str | None
    shares: tuple[float, ...]
    pots: int | None
    chance: float | None
    ratio: float
    component: str | None
    seed: int | None


@dataclass(frozen=True)
class Habits:
    """What the member tested with last, in the sheet's own words; None where that is not known."""

    component: str | None = None
    component_grade: str | None = None
    base: str | None = None
    setup_type: str | None = None
    climate_zone: str | None = None
    pot_volume_ml: float | None = None
    series: int = 0


@dataclass(frozen=True)
class TestPlan:
    """A plan for somebody: invented marks a pool of made-up data."""

    member: str | None
    habits: Habits
    component: str
    label: str
    plan: Plan
    invented: bool


def plan_for(pool: Path | None, asked: Asked) -> TestPlan:
    """The plan of a test, from what the pool knows; without a pool, from the defaults of a new one.

    Raises DrainpoolError where the folder holds no pool, WrongUseError where a wish can't be carried out."""
    if pool is not None and not is_pool(pool):
        raise DrainpoolError(
            f"{pool} holds no pool; nothing was planned. Name the pool's folder, or leave --pool out to plan from defaults."
        )
    habits = Habits() if pool is None else habits_of(runs_in_force(pool), asked.member)
    if asked.member is not None and pool is not None and not habits.series:
        raise WrongUseError(
            f"--member: {asked.member} has no test in this pool. Look at the code again, or leave --member out for a first test."
        )
    component = _component(asked.component, habits)
    known, invented = (_unknown(), False) if pool is None else known_of(pool, component)
    settings = pool_settings(pool)
    wish = Wish(
        asked.shares,
        asked.pots,
        asked.chance,
        asked.ratio,
        settings.standard_pot_volume_l if habits.pot_volume_ml is None else habits.pot_volume_ml / 1000,
        component,
        _seed(asked, habits) if asked.seed is None else asked.seed,
    )
    plan = plan_test(wish, known)
    return TestPlan(
        asked.member, habits, component, f"{component.replace('_', ' ')} plan {wish.seed}", plan, invented
    )


def habits_of(runs: pl.DataFrame, member: str | None) -> Habits:
    """What a member's newest test was made with; nothing known where the member has none."""
    own = runs.filter(pl.col("member_key") == label_key(member or ""))
    if not own.height:
        return Habits()
    own = own.sort("tested_on", maintain_order=True)
    names = ("component", "component_grade", "base", "setup_type", "climate_zone", "pot_volume_ml")
    newest = own.select(pl.col(name).drop_nulls().last() for name in names).row(0, named=True)
    return Habits(**newest, series=own["series_key"].n_unique())


def known_of(pool: Path, component: str) -> tuple[Known, bool]:
    """What the pool knows of a component, fresh pots; and whether its data are invented."""
    answered = answer(pool, Part({"component": (component,)}), None)
    components = cast(Mapping[str, ComponentValue], answered.value["components"])
    invented = bool(answered.value["invented"])
    if component not in components:
        return Known(answered.settings.repeatability_sd, False, ()), invented
    value = components[component]
    cv_pot = value["repeatability"]["cv_pot"]
    shares = tuple(
        KnownShare(
            line["share"],
            line["members"],
            line["ratio"],
            (line["ci"][0], line["ci"][1]),
            (line["new_series"][0], line["new_series"][1]),
            line["verdict"],
        )
        for line in value["shares"]
        if line["ratio"] is not None and line["ci"] is not None and line["new_series"] is not None
    )
    if cv_pot is None:
        return Known(answered.settings.repeatability_sd, False, shares), invented
    return Known(sqrt(log1p(cv_pot**2)), True, shares), invented


def _unknown() -> Known:
    return Known(pool_settings(None).repeatability_sd, False, ())


def _component(typed: str | None, habits: Habits) -> str:
    allowed = [choice.value for choice in CHOICES["component"]]
    if typed is None:
        return habits.component or USUAL_COMPONENT
    wanted = typed.strip().lower().replace(" ", "_")
    if wanted not in allowed:
        raise WrongUseError(
            f"--component: “{typed}” is none that sheets know. Write one of: {', '.join(allowed)}."
        )
    return wanted


def _seed(asked: Asked, habits: Habits) -> int:
    said = f"{label_key(asked.member or '')}|{asked.shares}|{asked.pots}|{asked.chance}|{habits.series}"
    return crc32(said.encode()) % SEEDS

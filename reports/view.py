"""What a month hands to the pages: one frozen value. Nothing in here knows where the numbers came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import polars as pl

from reports.answer import Answer, RedrawnShares, answers
from reports.club import ClubSettings, club_settings
from reports.headline import Case, case_of
from schemas.results.whole import ResultsValue
from schemas.trade.changed import Changed
from schemas.trade.pots import StandardPot

SAME_SHARE = 1e-6
"""Shares closer than this, in percent, are one share that was written twice."""


@dataclass(frozen=True)
class Correction:
    """An edition after the first: when it was made, why, and the `results.json` value it corrects."""

    made_on: str
    reason: str
    before: ResultsValue


@dataclass(frozen=True)
class Spread:
    """How far apart ratios of one component lie, as factors: 19 in 20 growers' series either way of the average; two
    pots of one mix by one grower, 19 times in 20. None where not known."""

    nineteen_in_twenty: float | None
    two_pots: float | None


@dataclass(frozen=True)
class Levels:
    """Growers' ratios and averages of one split, by level and share."""

    growers: pl.DataFrame
    averages: pl.DataFrame

    def at(self, share: float) -> Levels:
        """Of one share, in percent."""
        return self._where((pl.col("share") - share).abs() < SAME_SHARE)

    def of(self, level: str) -> Levels:
        """Of one level."""
        return self._where(pl.col("level") == level)

    def _where(self, chosen: pl.Expr) -> Levels:
        return Levels(self.growers.filter(chosen), self.averages.filter(chosen))


@dataclass(frozen=True)
class Shown:
    """Figures for the pages alone, worked out beside `results.json`.

    `redrawn`: other ranges of every share. `own_weights`: component, component_share, member, part (0-1) of the average,
    and the range low to high that it would have without that member. `two_pots`: member, within (times), fillings.
    `standard_pots`: by pour state (fresh, settled). `spreads`: by component. `levelled`: effects of fresh pots with climate, pot_size, water and start. `grower_ratios`:
    component, kind, level, share, member, ratio, series. `level_averages`: component, kind, level, share, growers,
    series, average, low, high, sure_low, sure_high. `rates_by_year`: member, series, component_share, year,
    rate_ml_min_l, runs. `unlike_by_luck`: the part (0-1) of growers that stand apart by luck alone.
    """

    redrawn: RedrawnShares
    own_weights: pl.DataFrame
    two_pots: pl.DataFrame
    standard_pots: Mapping[str, StandardPot]
    spreads: Mapping[str, Spread]
    levelled: pl.DataFrame
    grower_ratios: pl.DataFrame
    level_averages: pl.DataFrame
    rates_by_year: pl.DataFrame
    unlike_by_luck: float


@dataclass(frozen=True)
class MonthView:
    """One month, ready to be shown.

    `results`: the whole `results.json` value. `effects`, `members`: the compare stage's frames. `runs`:
    the public pool frame (`reports.public.public_runs`). `held_by_rule`: rule, title, level, rows.
    `received`: counts by name (sheets, rows, accepted, held). `earlier`: `results.json` values of earlier
    months, oldest first. `set_aside`: reason, runs. `draft`: a new edition not yet published.
    `changed`: what became of the runs since the report before; None in a pool's first month.
    """

    results: ResultsValue
    effects: pl.DataFrame
    members: pl.DataFrame
    runs: pl.DataFrame
    held_by_rule: pl.DataFrame
    received: Mapping[str, int]
    shown: Shown
    earlier: tuple[ResultsValue, ...] = ()
    set_aside: pl.DataFrame | None = None
    draft: bool = False
    correction: Correction | None = None
    changed: Changed | None = None
    downloads: tuple[str, ...] = field(default=("pool.csv", "pool.parquet", "results.json"))

    @property
    def answers(self) -> list[Answer]:
        """What the month says about every component, the one with the most growers first."""
        return answers(self.results, self.shown.redrawn)

    def pot_of(self, state: str) -> StandardPot:
        """The standard pot with the minutes of straight base in one pour state (fresh or settled)."""
        return self.shown.standard_pots[state]

    def case_of(self, answer: Answer) -> Case:
        """What the month argues of a component: the state whose answer it is, and the share in focus."""
        return case_of(answer, self.settings.reference_share)

    @property
    def month(self) -> str:
        """The month as 2026-05."""
        return str(self.results["month"])

    @property
    def settings(self) -> ClubSettings:
        """The club's numbers as the results hold them."""
        return club_settings(self.results)

    @property
    def pool_name(self) -> str:
        """What the pool calls itself."""
        return self.settings.pool_name

    @property
    def previous(self) -> ResultsValue | None:
        """Results of the newest earlier month, if there is one."""
        return self.earlier[-1] if self.earlier else None

    def effects_of(self, component: str, state: str = "fresh", grade: str | None = None) -> pl.DataFrame:
        """The series' effects of a component in a pour state (fresh or settled), of one grade or of all."""
        effects = self.effects
        if effects.is_empty():
            return effects
        effects = effects.filter((pl.col("component") == component) & (pl.col("state") == state))
        return effects if grade is None else effects.filter(pl.col("grade") == grade)

    def levels_of(self, component: str, kind: str) -> Levels:
        """A component split by one kind: growers' ratios and averages, by level and share."""
        here = (pl.col("component") == component) & (pl.col("kind") == kind)
        return Levels(self.shown.grower_ratios.filter(here), self.shown.level_averages.filter(here))

    def levelled_of(self, component: str) -> pl.DataFrame:
        """Effects of a component in fresh pots with their levels; empty where there are none."""
        levelled = self.shown.levelled
        return levelled if levelled.is_empty() else levelled.filter(pl.col("component") == component)

    def members_at(self, component: str, share: float, state: str = "fresh") -> pl.DataFrame:
        """The members frame of a component at one share, in percent."""
        return self.members.filter(
            (pl.col("component") == component)
            & (pl.col("state") == state)
            & ((pl.col("component_share") - share).abs() < SAME_SHARE)
        )

"""Is a run believable: its pot's geometry, its time, and how fast the water moved.

The bands stand in the pool's settings with their source (`schemas.settings`); the formulas are those of the
trade (`schemas.trade.pots`, `schemas.trade.flow`).
"""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from pipeline.check.findings import RowRule, cell
from pipeline.check.numbers import figures, in_units
from pipeline.check.rows import SLACK
from pipeline.settings import Settings
from schemas.trade.flow import front_speed_cm_s
from schemas.trade.pots import truncated_cone_ml
from schemas.trade.slips import MILLILITRES_FOR_LITRES, ONE_ZERO, RADIUS_FOR_DIAMETER, SLIPS

CONE_ADVICE = 0.25
CONE_HELD = 2.0
CONE_AGREES_WITHIN = 0.15
_TOP, _BASE, _DEPTH = (
    pl.col(name) for name in ("pot_top_diameter_cm", "pot_base_diameter_cm", "fill_depth_cm")
)


def plausible_rules(settings: Settings) -> tuple[RowRule, ...]:
    """The rules on geometry, time and front speed, with this pool's bands."""
    return (*_cone(), *_time(settings), *_speed(settings))


def cone_volume_ml() -> pl.Expr:
    """Volume in ml of the truncated cone of the three inside lengths in cm; null where one is missing."""
    return truncated_cone_ml(_TOP, _BASE, _DEPTH)


def _cone() -> tuple[RowRule, ...]:
    typed = ~pl.col("pot_volume_computed") & (_DEPTH > 0)
    against = cone_volume_ml() / pl.col("pot_volume_ml")
    far = (against > CONE_HELD * (1 + SLACK)) | (against < (1 - SLACK) / CONE_HELD)
    differs = ((against - 1).abs() > CONE_ADVICE + SLACK) & ~far
    sizes = {"given": figures("pot_volume_ml"), "cone": figures(cone_volume_ml())}
    return (
        RowRule(
            "cone_volume_differs",
            "pot_volume",
            typed & differs,
            {
                **sizes,
                "percent": figures(100 * (against - 1).abs(), 2),
                "way": pl.when(against > 1).then(pl.lit("more")).otherwise(pl.lit("less")),
                "hint": pl.lit("A pot's label is not its volume as filled."),
            },
        ),
        RowRule(
            "cone_volume_far",
            "pot_volume",
            typed & far,
            {
                **sizes,
                "times": figures(against, 2),
                "hint": _cone_hint(against),
            },
        ),
    )


def _cone_hint(against: pl.Expr) -> pl.Expr:
    """The slip that would bring the cone and the typed volume together, in words; empty where none does."""

    def near(factor: float) -> pl.Expr:
        return (against / factor - 1).abs() < CONE_AGREES_WITHIN

    volume, zero = MILLILITRES_FOR_LITRES.factor, ONE_ZERO.factor
    return (
        pl.when(near(1 / RADIUS_FOR_DIAMETER.factor))
        .then(pl.lit("They would agree if both widths were twice as wide: was half the width typed?"))
        .when(near(volume) | near(1 / volume))
        .then(pl.lit("They would agree if pot_volume were 1000 times off: were l and ml mixed up?"))
        .when(near(zero) | near(1 / zero))
        .then(pl.lit("They would agree if one number were 10 times off: is a zero too few or too many?"))
        .otherwise(pl.lit(""))
    )


def _time(settings: Settings) -> tuple[RowRule, ...]:
    time = pl.col("drain_time_s")
    stopped, dry = pl.col("ended") == "stopped", pl.col("ended") == "ran_dry"
    told = {"time": in_units("drain_time_s", "s")}
    week, day, short = settings.long_time_held_s, settings.long_time_advice_s, settings.short_time_advice_s
    too_long = (time > week) & ~stopped
    return (
        RowRule("time_too_long", "drain_time", too_long, {**told, "limit": _constant(week / 86400)}),
        RowRule(
            "time_long", "drain_time", (time > day) & ~too_long, {**told, "limit": _constant(day / 3600)}
        ),
        RowRule("time_short", "drain_time", (time < short) & ~dry & ~_too_fast(settings), told),
        RowRule(
            "pour_time_long",
            "drain_time",
            (time < 2 * pl.col("pour_time_s")) & ~dry,
            {**told, "pour": in_units("pour_time_s", "s"), "pour_cell": cell("pour_time")},
        ),
    )


def _speed(settings: Settings) -> tuple[RowRule, ...]:
    speed = front_speed_cm_s()
    reached, timed = pl.col("ended") == "reached", pl.col("ended") != "ran_dry"
    too_fast, fast = settings.front_speed_held_above_cm_s, settings.front_speed_advice_above_cm_s
    too_slow, slow = settings.front_speed_held_below_cm_s, settings.front_speed_advice_below_cm_s
    long_anyway = pl.col("drain_time_s") > settings.long_time_advice_s
    told = {
        "collected": in_units("collected_ml", "ml"),
        "time": in_units("drain_time_s", "s"),
        "volume": in_units("pot_volume_ml", "ml"),
        "speed": figures(speed, 2),
    }

    def rule(rule_id: str, when: pl.Expr, limit: float) -> RowRule:
        hint = _speed_hint(speed, slow, fast)
        details: Mapping[str, pl.Expr] = {**told, "limit": _constant(limit), "hint": hint}
        return RowRule(rule_id, "drain_time", when, details)

    return (
        rule("drains_too_fast", _too_fast(settings), too_fast),
        rule("drains_fast", timed & (speed > fast) & (speed <= too_fast), fast),
        rule("drains_slow", reached & (speed < slow) & (speed >= too_slow) & ~long_anyway, slow),
        rule("drains_too_slow", reached & (speed < too_slow), too_slow),
    )


def _too_fast(settings: Settings) -> pl.Expr:
    """True where water moved faster than any mix lets it; for a stopped run it would have been slower, but
    then the clock was hardly started."""
    faster = front_speed_cm_s() > settings.front_speed_held_above_cm_s
    return ((pl.col("ended") != "ran_dry") & faster).fill_null(False)


def _speed_hint(speed: pl.Expr, slow: float, fast: float) -> pl.Expr:
    """The first exact factor that would bring the speed into the usual band, in words."""
    hint: pl.Expr = pl.lit("")
    for slip in reversed([slip for slip in SLIPS if slip.too_fast]):
        slower, faster = speed / slip.factor, speed * slip.factor
        hint = (
            pl.when((speed > fast) & slower.is_between(slow, fast))
            .then(pl.lit(f" It would be usual if {slip.too_fast}"))
            .when((speed < slow) & faster.is_between(slow, fast))
            .then(pl.lit(f" It would be usual if {slip.too_slow}"))
            .otherwise(hint)
        )
    return hint


def _constant(number: float) -> pl.Expr:
    return figures(pl.lit(float(number)))

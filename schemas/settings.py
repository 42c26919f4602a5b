"""Every setting of a pool once: name, default, limits, meaning, source. The dictionary page prints this table."""

from __future__ import annotations

from dataclasses import dataclass

REASONED = "reasoned by this project; to be tuned on data"
CLUB = "the club's own choice"


@dataclass(frozen=True)
class Setting:
    """One line a coordinator may write into `settings.toml`."""

    name: str
    default: float | str | tuple[float, ...]
    low: float | None
    high: float | None
    unit: str
    meaning: str
    source: str


SETTINGS: tuple[Setting, ...] = (
    Setting("pool_name", "The pool", None, None, "", "What the report pages call this pool.", CLUB),
    Setting("run_by", "", None, None, "", "Who runs the pool; every page says it.", CLUB),
    Setting("paid_by", "", None, None, "", "Who pays for the pool, or nobody; every page says it.", CLUB),
    Setting("contact", "", None, None, "", "How readers reach whoever runs the pool.", CLUB),
    Setting("licence", "", None, None, "", "The licence of figures and pages, said in the quote.", CLUB),
    Setting(
        "report_address", "", None, None, "", "Where the reports are published, said in the quote.", CLUB
    ),
    Setting(
        "target_ratio",
        1.25,
        1.01,
        10.0,
        "times",
        "How many times as fast as the grower's own straight base a mix must drain to count as enough.",
        CLUB,
    ),
    Setting(
        "assurance",
        0.80,
        0.5,
        0.99,
        "probability",
        "In what part of new growers' tests a mix must reach the target ratio to count as enough.",
        CLUB,
    ),
    Setting(
        "reference_share",
        40.0,
        1.0,
        100.0,
        "percent by volume",
        "The share at which spread between growers and repeatability are stated.",
        CLUB,
    ),
    Setting(
        "repeatability_sd",
        0.10,
        0.001,
        1.0,
        "ln units",
        "Spread of single pots of one mix by one grower, used only where the pool has too few replicates to measure it.",
        REASONED + " (low end of plausible values)",
    ),
    Setting(
        "small_shares",
        (),
        0.0,
        100.0,
        "percent by volume",
        "Shares asked whether they drain slower than straight base; empty means all up to 25 %.",
        CLUB,
    ),
    Setting(
        "weight_of_too_little",
        0.0,
        0.0,
        1000.0,
        "",
        "How much it weighs that a mix drains too slowly, in the line on expected regret; 0 leaves the line out.",
        CLUB,
    ),
    Setting(
        "weight_of_too_much",
        0.0,
        0.0,
        1000.0,
        "",
        "How much it weighs that a mix drains faster than the target asks, beside the weight of too little; 0 leaves the line out.",
        CLUB,
    ),
    Setting(
        "stopwatch_step_s",
        1.0,
        0.0,
        60.0,
        "s",
        "Rounding step of a hand-held clock; sets the floor of a run's variance.",
        "uniform rounding error, step² / 12",
    ),
    Setting(
        "standard_pot_volume_l",
        1.0,
        0.02,
        500.0,
        "l",
        "Mix volume of the pot whose drain time the pages state in minutes.",
        CLUB,
    ),
    Setting(
        "standard_collected_ml",
        150.0,
        1.0,
        100000.0,
        "ml",
        "Water collected in that time from the standard pot.",
        CLUB,
    ),
    Setting(
        "front_speed_held_below_cm_s",
        2e-6,
        0.0,
        1.0,
        "cm/s",
        "A run slower than this is held.",
        "low end for field peats: Päivänen, Silva Fennica, as named in the project's notes",
    ),
    Setting(
        "front_speed_advice_below_cm_s",
        1e-4,
        0.0,
        1.0,
        "cm/s",
        "A run slower than this gets advice.",
        REASONED,
    ),
    Setting(
        "front_speed_advice_above_cm_s",
        0.7,
        0.0,
        100.0,
        "cm/s",
        "A run faster than this gets advice.",
        REASONED,
    ),
    Setting(
        "front_speed_held_above_cm_s", 5.0, 0.0, 1000.0, "cm/s", "A run faster than this is held.", REASONED
    ),
    Setting(
        "short_time_advice_s",
        5.0,
        0.0,
        600.0,
        "s",
        "A drain time shorter than this gets advice: too short for a hand clock.",
        REASONED,
    ),
    Setting(
        "long_time_advice_s",
        86400.0,
        60.0,
        1e8,
        "s",
        "A drain time longer than this gets advice (a day).",
        REASONED,
    ),
    Setting(
        "long_time_held_s",
        604800.0,
        60.0,
        1e8,
        "s",
        "A drain time longer than this is held (a week).",
        REASONED,
    ),
)

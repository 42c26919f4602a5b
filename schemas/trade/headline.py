"""Which runs stand in a headline, and every reason why one does not. Column expressions over the canonical run frame.

Rules: the project's contract, section 3 (fresh pots), and methods note, section 1.
"""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

AGED_BEYOND_DAYS = 30.0
FRESH_POUR, SETTLED_POUR = 1, 2
MAIN_BASE = "sphagnum_peat"
HEADLINE_PART = (0.40, 0.60)
"""The part of the pour, as collected over poured, whose time the headline compares (contract, "Across rows")."""


def start_of_pour() -> pl.Expr:
    """How wet the mix was when the water was poured: dry, moist or soaked.

    Blank means moist, or dry where the components were not wetted before mixing; that holds for the first pour only,
    since a pot that was poured before is wet.
    """
    never_wetted = (pl.col("pre_wetted") == "no").fill_null(False) & (pl.col("pour_no") == FRESH_POUR)
    blank = pl.when(never_wetted).then(pl.lit("dry")).otherwise(pl.lit("moist"))
    return pl.coalesce(pl.col("start_moisture"), blank)


def fresh() -> pl.Expr:
    """True for pours into freshly filled pots."""
    return pl.col("pour_no") == FRESH_POUR


@dataclass(frozen=True)
class Reason:
    """Why a run is in no headline. name: as in `results.json` (`apart`); label: of one test; words: in a list of
    reasons; holds: True where the reason holds of a run."""

    name: str
    label: str
    words: str
    holds: pl.Expr


DRY = Reason("dry", "dry start", "started dry: times soaking up", start_of_pour() == "dry")
AGED = Reason(
    "aged",
    "mixed over 30 days before",
    "mixed more than 30 days before",
    (pl.col("mix_age_days") > AGED_BEYOND_DAYS).fill_null(False),
)
PLANTED = Reason("planted", "planted", "planted pot", (pl.col("planted") == "yes").fill_null(False))
OTHER_PART = Reason(
    "other_part",
    "another part of the pour",
    "collected outside {:.0f} to {:.0f} % of the pour".format(*(100 * end for end in HEADLINE_PART)),
    pl.col("part_marked").fill_null(False),
)
UNLIKE_POUR = Reason(
    "unlike_pour",
    "unlike pour",
    "pour unlike the rest of its series",
    pl.col("unlike_pour").fill_null(False),
)

REASONS: tuple[Reason, ...] = (DRY, AGED, PLANTED, OTHER_PART, UNLIKE_POUR)
"""Why an accepted run is in no headline, neither that of fresh nor that of settled pots."""

ANSWERED_ELSEWHERE: tuple[Reason, ...] = (
    Reason(
        "later_pour",
        "later pour",
        "poured before (settled pots: their own answer)",
        pl.col("pour_no") > FRESH_POUR,
    ),
    Reason("other_base", "another base", "another base than peat", pl.col("base") != MAIN_BASE),
)
"""Why a run is not in the headline of fresh pots in peat though it counts in an answer of its own."""


def in_headline() -> pl.Expr:
    """True where a run may stand in a headline."""
    return ~pl.any_horizontal(*(reason.holds for reason in REASONS))


def only(reason: Reason) -> pl.Expr:
    """True where a run is in no headline for this reason alone."""
    return reason.holds & ~pl.any_horizontal(*(other.holds for other in REASONS if other.name != reason.name))

"""The invented federation: clubs, members, pots, and which series each member tests and sends in which month.

Every place, club and code is made up. Members stand in the order in which they join.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

CLUBS: dict[str, str] = {
    "larkfen": "Larkfen Bog Growers",
    "tarnholt": "Tarnholt Moss Society",
    "quillmire": "Quillmire Pitcher Plant Circle",
    "ottersedge": "Otters Edge Sundew Club",
    "zwielmoor": "Moorfreunde Zwielmoor",
    "pinefolly": "Pine Folly Fen Club",
}

PERCENT = (0.0, 15.0, 25.0, 33.3, 40.0, 50.0, 60.0)
WITH_65 = (*PERCENT, 65.0)
FEW = (0.0, 25.0, 33.3, 40.0, 50.0, 60.0)
WIDE = (0.0, 15.0, 40.0, 50.0, 60.0)
ROUND_THIRD = (0.0, 15.0, 25.0, 33.0, 40.0, 50.0, 60.0)
# base:component parts, and the percent they come to at 0.1
PARTS: dict[float, tuple[int, int]] = {
    0.0: (1, 0),
    14.3: (6, 1),
    25.0: (3, 1),
    33.3: (2, 1),
    40.0: (3, 2),
    50.0: (1, 1),
    60.0: (2, 3),
}
IN_PARTS = tuple(PARTS)


@dataclass(frozen=True)
class Pot:
    """A pot as filled: volume of mix, what is poured on (half of it is collected), inside lengths in cm
    (top at the fill line), and for kitchen measures how the three volumes are written."""

    volume_ml: float
    poured_ml: float
    lengths_cm: tuple[float, float, float]
    kitchen: tuple[str, str, str] | None = None


CUP_ML, FLUID_OUNCE_ML, QUART_ML = 236.5882365, 29.5735295625, 946.352946
POTS: dict[str, Pot] = {
    "0.4 l": Pot(400, 140, (9.0, 6.6, 8.3)),
    "0.65 l": Pot(650, 220, (11.0, 8.0, 9.1)),
    "1 l": Pot(1000, 320, (13.0, 10.0, 9.6)),
    "1.5 l": Pot(1500, 500, (14.0, 11.5, 11.7)),
    "2 l": Pot(2000, 660, (16.5, 13.0, 11.6)),
    "3 l": Pot(3000, 1000, (19.0, 15.0, 13.2)),
    "5 l": Pot(5000, 1600, (22.5, 18.5, 15.1)),
    "12 l": Pot(12000, 4000, (30.0, 25.0, 20.1)),
    "2 cups": Pot(2 * CUP_ML, 6 * FLUID_OUNCE_ML, (9.6, 7.4, 8.3), ("2 cups", "6 fl oz", "3 fl oz")),
    "1 quart": Pot(QUART_ML, 10 * FLUID_OUNCE_ML, (12.7, 10.2, 9.2), ("1 quart", "10 fl oz", "5 fl oz")),
    "2 quarts": Pot(2 * QUART_ML, 2.5 * CUP_ML, (16.0, 12.7, 11.7), ("2 quarts", "2 1/2 cups", "1 1/4 cups")),
    "2.8 gal": Pot(
        11.2 * QUART_ML, 3.5 * QUART_ML, (28.0, 24.0, 20.0), ("2.8 gal", "3 1/2 quarts", "1 3/4 quarts")
    ),
}


@dataclass(frozen=True)
class Series:
    """Tests of one component grade in one kind of pot: sent in `month`, begun on `day`; `pots` fillings of
    every mix, each poured `pours` times. `collected_part`: part of the pour at which the clock stops."""

    month: int
    label: str
    day: date
    grade: str
    setup: str
    pot: str
    pots: int
    pours: int
    shares: tuple[float, ...] = PERCENT
    component: str = "perlite"
    base: str = "sphagnum_peat"
    dry: bool = False
    collected_part: float = 0.5
    mix_age_weeks: int = 0
    test_day: str = ""


@dataclass(frozen=True)
class Member:
    """A member by code: club (blank where none), class and half zone of the place, how they fill in a sheet
    (a name in `spellings.HANDS`), and the series tested."""

    code: str
    club: str
    climate: str
    hardiness: str
    hand: str
    series: tuple[Series, ...]


# bags that two members share; everyone else opens their own
SHARED_PEAT_LOT = {"zm-01": "zm-sack-1", "zm-02": "zm-sack-1"}


def _on(month: int, day: int) -> date:
    return date(2026, month, day)


# fmt: off
S = Series
FIRST_MONTH: tuple[Member, ...] = (
    Member("lf-01", "larkfen", "Cfb", "9a", "plain", (
        S(3, "bench one", _on(3, 7), "medium", "rack", "1 l", 2, 2),
        S(4, "coarse trial", _on(4, 11), "coarse", "rack", "1 l", 2, 1),
    )),
    Member("th-01", "tarnholt", "Dfb", "6b", "bare", (
        S(3, "cellar 1", _on(3, 4), "fine", "sieve", "1.5 l", 2, 2),
        S(5, "cellar 2", _on(5, 6), "medium", "sieve", "1.5 l", 2, 2),
    )),
    Member("qm-01", "quillmire", "Csb", "9b", "parts", (
        S(3, "Spring", _on(3, 9), "coarse", "strainer", "0.65 l", 2, 2, IN_PARTS),
        S(5, "Late spring", _on(5, 3), "fine", "strainer", "0.65 l", 2, 1, IN_PARTS),
    )),
    Member("oe-01", "ottersedge", "Cfa", "8a", "spaced", (
        S(3, "glasshouse A", _on(3, 12), "medium", "cut_cup", "2 l", 3, 1),
        S(4, "glasshouse B", _on(4, 9), "fine", "cut_cup", "0.4 l", 1, 3),
    )),
    Member("zm-01", "zwielmoor", "Dfb", "7a", "german", (
        S(3, "Reihe 1", _on(3, 14), "coarse", "jug_rim", "1 l", 2, 2),
        S(4, "Reihe 2", _on(4, 18), "medium", "jug_rim", "1 l", 2, 1),
    )),
    Member("bogbean", "", "Cfb", "8b", "wordy", (
        S(3, "first try", _on(3, 2), "fine", "rack", "0.65 l", 1, 1),
        S(3, "second try", _on(3, 16), "medium", "rack", "0.65 l", 2, 2),
    )),
)
SECOND_MONTH: tuple[Member, ...] = (
    Member("lf-02", "larkfen", "Cfb", "9a", "bare", (
        S(4, "kitchen sink", _on(4, 3), "coarse", "sieve", "0.4 l", 3, 1, test_day="open-day"),
        S(5, "kitchen sink settled", _on(5, 2), "fine", "rack", "0.4 l", 1, 2),
    )),
    Member("lf-03", "larkfen", "Cfb", "8b", "plain", (
        S(4, "shed", _on(4, 3), "medium", "rack", "3 l", 2, 2, ROUND_THIRD, test_day="open-day"),
    )),
    Member("th-02", "tarnholt", "Dfb", "6a", "two_columns", (
        S(4, "pots of April", _on(4, 8), "fine", "jug_rim", "1 l", 2, 2, IN_PARTS),
        S(5, "pots of January again", _on(5, 9), "fine", "jug_rim", "1 l", 1, 1, IN_PARTS, mix_age_weeks=16),
    )),
    Member("qm-02", "quillmire", "Csb", "9b", "workbook", (
        S(4, "W1", _on(4, 12), "medium", "strainer", "1.5 l", 2, 2, WITH_65),
        S(5, "W2", _on(5, 10), "coarse", "strainer", "1.5 l", 2, 2, WITH_65),
    )),
    Member("oe-02", "ottersedge", "Cfa", "7b", "unicode", (
        S(4, "porch", _on(4, 15), "coarse", "rack", "1 l", 2, 3),
    )),
    Member("zm-02", "zwielmoor", "Dfb", "7a", "german", (
        S(4, "Keller", _on(4, 21), "fine", "sieve", "0.65 l", 2, 2),
        S(5, "Keller grob", _on(5, 12), "coarse", "sieve", "0.65 l", 2, 1),
    )),
    Member("pf-01", "pinefolly", "Dfa", "5b", "american", (
        S(4, "basement", _on(4, 17), "coarse", "strainer", "1 quart", 2, 2),
        S(4, "basement big", _on(4, 24), "medium", "strainer", "2 quarts", 1, 1),
    )),
    Member("pf-02", "pinefolly", "Dfa", "6a", "american_iso", (
        S(4, "deck", _on(4, 19), "fine", "rack", "2 cups", 2, 1),
        S(5, "deck, bone dry", _on(5, 17), "fine", "rack", "2 cups", 2, 1, FEW, dry=True),
    )),
    Member("marsh-wren", "", "Cfb", "9a", "wordy", (
        S(4, "A", _on(4, 6), "medium", "cut_cup", "1 l", 2, 2),
        S(5, "A to a quarter", _on(5, 4), "medium", "cut_cup", "1 l", 1, 1, WIDE, collected_part=0.25),
    )),
    Member("kestrel-9", "", "Csb", "10a", "plain", (
        S(4, "perlite run", _on(4, 13), "coarse", "rack", "5 l", 1, 2),
        S(5, "pumice run", _on(5, 5), "medium", "rack", "5 l", 2, 1, component="pumice"),
    )),
)
THIRD_MONTH: tuple[Member, ...] = (
    Member("lf-04", "larkfen", "Cfb", "9a", "spaced", (
        S(5, "May fine", _on(5, 2), "fine", "sieve", "1 l", 2, 2),
        S(5, "May fine dry", _on(5, 9), "fine", "sieve", "1 l", 1, 1, FEW, dry=True),
    )),
    Member("lf-05", "larkfen", "Cfb", "8b", "parts_plus", (
        S(5, "perlite", _on(5, 6), "medium", "jug_rim", "2 l", 2, 2, IN_PARTS),
        S(5, "pumice", _on(5, 13), "medium", "jug_rim", "2 l", 2, 1, IN_PARTS, component="pumice"),
    )),
    Member("th-03", "tarnholt", "Dfb", "6b", "bare", (
        S(5, "no straight peat left", _on(5, 1), "medium", "rack", "1 l", 2, 1, PERCENT[1:]),
        S(5, "with peat", _on(5, 15), "coarse", "rack", "1 l", 2, 2),
    )),
    Member("th-04", "tarnholt", "Dfb", "6b", "shouting", (
        S(5, "barn", _on(5, 8), "fine", "cut_cup", "3 l", 2, 2),
        S(5, "barn rack", _on(5, 20), "medium", "rack", "3 l", 2, 1),
    )),
    Member("qm-03", "quillmire", "Csb", "9a", "two_columns", (
        S(5, "one", _on(5, 7), "fine", "sieve", "1.5 l", 2, 2, IN_PARTS),
    )),
    Member("qm-04", "quillmire", "Csa", "9b", "plain", (
        S(5, "peat", _on(5, 3), "medium", "rack", "1 l", 3, 1),
        S(5, "coir", _on(5, 10), "medium", "rack", "1 l", 2, 1, FEW, base="coir"),
    )),
    Member("oe-03", "ottersedge", "Cfa", "8a", "workbook_clock", (
        S(5, "east bench", _on(5, 11), "coarse", "cut_cup", "2 l", 2, 2),
        S(5, "dry bags", _on(5, 18), "coarse", "cut_cup", "2 l", 1, 1, FEW, dry=True),
    )),
    Member("oe-04", "ottersedge", "Cfa", "7b", "unicode", (
        S(5, "spare bench", _on(5, 13), "fine", "strainer", "0.65 l", 2, 1),
        S(5, "spare bench medium", _on(5, 16), "medium", "strainer", "0.65 l", 2, 2),
    )),
    Member("zm-03", "zwielmoor", "Dfb", "7b", "german_sep", (
        S(5, "Perlit", _on(5, 4), "medium", "rack", "12 l", 1, 2),
        S(5, "Bims", _on(5, 11), "medium", "rack", "12 l", 1, 1, component="pumice"),
    )),
    Member("zm-04", "zwielmoor", "Cfb", "7b", "german", (
        S(5, "Balkon fein", _on(5, 9), "fine", "strainer", "0.4 l", 2, 2),
    )),
    Member("pf-03", "pinefolly", "Dfa", "5b", "american", (
        S(5, "garage", _on(5, 16), "medium", "jug_rim", "1 quart", 2, 2),
        S(5, "tubs", _on(5, 23), "coarse", "rack", "2.8 gal", 1, 1),
    )),
    Member("pf-04", "pinefolly", "BSk", "6b", "american_iso", (
        S(5, "patio", _on(5, 14), "fine", "sieve", "1 quart", 2, 2, WITH_65),
        S(5, "patio coarse", _on(5, 21), "coarse", "sieve", "1 quart", 2, 1),
    )),
    Member("sundrop", "", "Csa", "9b", "shouting", (
        S(5, "tray 1", _on(5, 5), "coarse", "jug_rim", "1.5 l", 2, 2),
        S(5, "tray 2", _on(5, 19), "fine", "jug_rim", "1.5 l", 1, 1),
    )),
    Member("old-heron", "", "unknown", "", "workbook", (
        S(5, "windowsill", _on(5, 12), "medium", "sieve", "0.4 l", 2, 2),
    )),
)
# fmt: on
MEMBERS = FIRST_MONTH + SECOND_MONTH + THIRD_MONTH

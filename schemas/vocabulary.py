"""Every word that a column with choices allows, and what it means. The dictionary page and the blank sheet print it."""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Choice:
    """One allowed word and its plain meaning."""

    value: str
    meaning: str


UNKNOWN_CLIMATE = "unknown"

_CLIMATE = (
    ("Af", "Tropical, rainforest"),
    ("Am", "Tropical, monsoon"),
    ("Aw", "Tropical, savannah"),
    ("BWh", "Arid, desert, hot"),
    ("BWk", "Arid, desert, cold"),
    ("BSh", "Arid, steppe, hot"),
    ("BSk", "Arid, steppe, cold"),
    ("Csa", "Temperate, dry summer, hot summer"),
    ("Csb", "Temperate, dry summer, warm summer"),
    ("Csc", "Temperate, dry summer, cold summer"),
    ("Cwa", "Temperate, dry winter, hot summer"),
    ("Cwb", "Temperate, dry winter, warm summer"),
    ("Cwc", "Temperate, dry winter, cold summer"),
    ("Cfa", "Temperate, no dry season, hot summer"),
    ("Cfb", "Temperate, no dry season, warm summer"),
    ("Cfc", "Temperate, no dry season, cold summer"),
    ("Dsa", "Cold, dry summer, hot summer"),
    ("Dsb", "Cold, dry summer, warm summer"),
    ("Dsc", "Cold, dry summer, cold summer"),
    ("Dsd", "Cold, dry summer, very cold winter"),
    ("Dwa", "Cold, dry winter, hot summer"),
    ("Dwb", "Cold, dry winter, warm summer"),
    ("Dwc", "Cold, dry winter, cold summer"),
    ("Dwd", "Cold, dry winter, very cold winter"),
    ("Dfa", "Cold, no dry season, hot summer"),
    ("Dfb", "Cold, no dry season, warm summer"),
    ("Dfc", "Cold, no dry season, cold summer"),
    ("Dfd", "Cold, no dry season, very cold winter"),
    ("ET", "Polar, tundra"),
    ("EF", "Polar, frost"),
)
CLIMATE_CLASSES: tuple[Choice, ...] = tuple(Choice(code, name) for code, name in _CLIMATE)
"""The 30 Köppen-Geiger classes of Beck et al. 2018 (Scientific Data 5:180214)."""

CLIMATE_MAIN_GROUPS: tuple[Choice, ...] = (
    Choice("A", "Tropical"),
    Choice("B", "Arid"),
    Choice("C", "Temperate"),
    Choice("D", "Cold"),
    Choice("E", "Polar"),
)

CLASSES_OF_OTHER_SCHEMES: dict[str, str] = {"As": "Aw"}
"""Classes that other schemes use, with the class of these 30 that stands for them."""


def _half_zones() -> tuple[Choice, ...]:
    """The 26 USDA half zones: 5 °F each, from -60 °F up (USDA Plant Hardiness Zone Map)."""
    zones = []
    for number in range(1, 14):
        for step, letter in enumerate("ab"):
            low = -60 + 10 * (number - 1) + 5 * step
            zones.append(
                Choice(f"{number}{letter}", f"coldest night of a usual winter {low} to {low + 5} °F")
            )
    return tuple(zones)


_YES_NO = (Choice("yes", "yes"), Choice("no", "no"))

CHOICES: dict[str, tuple[Choice, ...]] = {
    "climate_zone": (*CLIMATE_CLASSES, Choice(UNKNOWN_CLIMATE, "Not known; counted as zone not given.")),
    "setup_type": (
        Choice("rack", "On an open wire rack, or on two sticks over a bowl."),
        Choice("strainer", "Hangs in an open strainer."),
        Choice("sieve", "Stands on a fine sieve."),
        Choice("jug_rim", "Rests in the mouth of the measuring jug."),
        Choice("cut_cup", "Cup with its base cut away, on a sieve."),
        Choice("other", "Held in another way; say how in notes."),
    ),
    "base": (
        Choice("sphagnum_peat", "Sphagnum peat; what a blank cell means."),
        Choice("coir", "Coconut fibre, washed of its salts."),
        Choice("long_fibre_sphagnum", "Long-fibre sphagnum moss."),
        Choice("other", "Another base; say which in notes."),
    ),
    "component": (
        Choice("perlite", "Expanded volcanic glass."),
        Choice("pumice", "Natural volcanic foam stone."),
        Choice("silica_sand", "Lime-free quartz sand or grit."),
        Choice("vermiculite", "Expanded mica."),
        Choice("fine_bark", "Fine composted or aged bark."),
        Choice("other", "Another component; say which in notes."),
    ),
    "component_grade": (
        Choice("fine", "As the bag says; a workable reading is grains under 2 mm."),
        Choice("medium", "As the bag says; a workable reading is grains of 2-4 mm."),
        Choice("coarse", "As the bag says; a workable reading is grains of 4-8 mm."),
    ),
    "ended": (
        Choice("reached", "The collected volume was out at drain_time; what a blank cell means."),
        Choice(
            "stopped", "Still dripping when the clock was stopped at drain_time, before that volume was out."
        ),
        Choice("ran_dry", "Dripping ended first; the mix kept the water. came_out says how much came."),
    ),
    "hardiness_zone": _half_zones(),
    "growing_place": (
        Choice("indoors", "In a room, on a sill or under lights."),
        Choice("glasshouse", "In a glasshouse, cold frame or tunnel."),
        Choice("outdoors", "In the open."),
    ),
    "yes_no": _YES_NO,
    "start_moisture": (
        Choice("dry", "Dry to the hand just before the pour."),
        Choice("moist", "Moist, as used for potting."),
        Choice("soaked", "Soaked through and drained just before the pour."),
    ),
    "hole_cover": (
        Choice("none", "Nothing over the holes."),
        Choice("mesh", "Plastic or wire mesh."),
        Choice("fleece", "Garden fleece or felt."),
        Choice("moss", "A plug of moss."),
        Choice("paper", "Paper, such as a coffee filter."),
        Choice("other", "Another cover; say which in notes."),
    ),
    "measured_by": (
        Choice("loose", "Loosened, moist, level scoops."),
        Choice("pressed", "Pressed into the scoop."),
        Choice("bag", "By whole bags or bales."),
        Choice("look", "By eye."),
    ),
    "peat_type": (
        Choice("fine", "Finely milled or sieved peat."),
        Choice("medium", "Medium milled peat."),
        Choice("coarse", "Coarse, fibrous peat."),
        Choice("block", "From a pressed block or bale, loosened."),
        Choice("unknown", "Not known."),
    ),
    "top_layer": (
        Choice("none", "Bare mix."),
        Choice("moss", "Living or dried moss."),
        Choice("grit", "Grit, sand or gravel."),
        Choice("other", "Another layer; say which in notes."),
    ),
}
"""Allowed words by the `choices` name of the columns in `schemas.kinds`."""

_SPACING = re.compile(r"[\s_-]+")


def choice_key(text: str) -> str:
    """A word as it is compared: letter case, spaces, underscores and hyphens left out."""
    return _SPACING.sub("", text).casefold()


_BY_KEY: dict[str, dict[str, str]] = {
    name: {choice_key(choice.value): choice.value for choice in choices} for name, choices in CHOICES.items()
}
_OTHER_SCHEMES = {choice_key(code): code for code in CLASSES_OF_OTHER_SCHEMES}


def match_choice(choices: str, typed: str) -> str | None:
    """The allowed word that `typed` stands for, as it is written in the pool; None where it is none of them."""
    return _BY_KEY[choices].get(choice_key(typed))


def match_other_scheme(typed: str) -> str | None:
    """A climate class of another scheme, such as As, as it is written there; None for anything else."""
    return _OTHER_SCHEMES.get(choice_key(typed))

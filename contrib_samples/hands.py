"""How the members of the invented federation fill in a sheet: headings, units, dates, times, file kind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Dates = Literal["iso", "german", "slashed"]
Times = Literal["m:ss", "seconds", "minutes", "words", "compact", "marks", "clock"]
Shares = Literal["25 %", "25%", "25", "3:1", "3+1", "3 to 1", "two columns"]


@dataclass(frozen=True)
class Hand:
    """One way of filling in a sheet. A unit in a heading means bare numbers below it; `always` holds cells
    that this hand writes alike in every row."""

    headings: tuple[str, ...]
    dates: Dates = "iso"
    times: Times = "m:ss"
    shares: Shares = "25 %"
    volumes: Literal["ml", "l", "kitchen"] = "ml"
    fahrenheit_and_inches: bool = False
    decimal: str = "."
    separator: str = ","
    encoding: str = "utf-8"
    line_end: str = "\r\n"
    first_line: str = ""
    workbook: bool = False
    names_component_at_zero: bool = True
    says_reached: bool = False
    volume_left_blank: bool = False
    in_order_of_test: bool = False
    always: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


def _headings(line: str) -> tuple[str, ...]:
    return tuple(heading.strip() for heading in line.split("|"))


PLAIN = _headings(
    "member | series | tested_on | climate_zone | hardiness_zone | setup_type | pot_volume | base | component | "
    "component_grade | component_share | pot_no | pour_no | poured | collected | drain_time | ended | "
    "water_temp | start_moisture | club | round | notes"
)
BARE = _headings(
    "member | club | round | series | tested_on | climate_zone | setup_type | pot_volume_ml | base | component | "
    "component_grade | component_share | pot_no | pour_no | poured_ml | collected_ml | drain_time_s | ended | "
    "water_temp_c | start_moisture | taps | measured_by"
)
PARTS = _headings(
    "Series | Member | Club | Tested on | Climate zone | Setup type | Pot volume | Component | Component grade | "
    "Parts | Pot no | Pour no | Drain time | Poured | Collected | Ended | Start moisture | Hole cover | Notes"
)
SPACED = _headings(
    "Member | Series | Tested On | Climate-Zone | Hardiness Zone | Setup-Type | Pot Volume (l) | Component | "
    "Component Grade | Component Share | Pot No | Pour No | Poured (ml) | Collected (ml) | Drain Time | Ended | "
    "Pre-wetted | Growing Place | Club | Run Order"
)
GERMAN = _headings(
    "member | club | series | tested on | climate zone | setup type | pot volume | component | component grade | "
    "component share | pot no | pour no | poured | collected | drain time | ended | came out | water temp | "
    "start moisture | rest before | peat lot | notes"
)
GERMAN_UNITS = _headings(
    "Member | Club | Series | Tested on | Climate zone | Setup type | Pot volume [l] | Component | "
    "Component grade | Component share | Pot no | Pour no | Poured [ml] | Collected [ml] | Drain time [min] | "
    "Ended | Water temp [C] | Start moisture | Peat type"
)
AMERICAN = _headings(
    "Member | Club | Series | Tested On | Climate Zone | Hardiness Zone | Setup Type | Pot Volume | Component | "
    "Component Grade | Component Share | Pot No | Pour No | Poured | Collected | Drain Time | Ended | Came Out | "
    "Water Temp | Start Moisture | Pot Top Diameter | Pot Base Diameter | Fill Depth | Drain Holes | Hole Size"
)
UNICODE = _headings(
    "member | series | tested_on | club | climate_zone | setup_type | pot_volume | pot_top_diameter_cm | "
    "pot_base_diameter_cm | fill_depth_cm | component | component_grade | component_share | pot_no | pour_no | "
    "poured | collected | drain_time | ended | start_moisture | sieved | component_min_size | component_max_size"
)
WORDY = _headings(
    "Member | Tested On | Series | Climate Zone | Setup Type | Pot Volume | Component | Component Grade | "
    "Component Share | Pot No | Pour No | Poured | Collected | Drain Time | Ended | Start Moisture | "
    "Pot Top Diameter | Pot Base Diameter | Fill Depth | Pour Time | Top Layer | Notes"
)

HANDS: dict[str, Hand] = {
    "plain": Hand(
        PLAIN,
        line_end="\n",
        says_reached=True,
        notes=("leaked a little at the rim, wiped it", "two sticks, big bowl"),
    ),
    "bare": Hand(BARE, times="seconds", shares="25", always={"taps": "5", "measured_by": "loose"}),
    "parts": Hand(
        PARTS, shares="3:1", encoding="utf-8-sig", always={"hole_cover": "mesh"}, notes=("rain, 12°",)
    ),
    "parts_plus": Hand(
        PARTS, shares="3+1", volumes="l", names_component_at_zero=False, always={"hole_cover": "fleece"}
    ),
    "two_columns": Hand(
        _headings("|".join(PARTS).replace("Parts", "Base parts | Component parts | Mix age")),
        times="words",
        shares="two columns",
        always={"hole_cover": "none"},
    ),
    "spaced": Hand(
        SPACED,
        shares="25%",
        encoding="utf-8-sig",
        in_order_of_test=True,
        always={"growing_place": "glasshouse"},
    ),
    "german": Hand(
        GERMAN,
        dates="german",
        volumes="l",
        decimal=",",
        separator=";",
        encoding="cp1252",
        notes=("Regenwasser, nicht gestoßen", "Topf schräg, gerückt", "Sieb vorher gespült"),
    ),
    "german_sep": Hand(
        GERMAN_UNITS,
        dates="german",
        times="minutes",
        volumes="l",
        decimal=",",
        separator=";",
        encoding="utf-8-sig",
        first_line="sep=;",
        names_component_at_zero=False,
        always={"peat_type": "block"},
    ),
    "american": Hand(
        AMERICAN,
        dates="slashed",
        shares="25%",
        volumes="kitchen",
        fahrenheit_and_inches=True,
        always={"drain_holes": "4", "hole_size": "0.25 in"},
    ),
    "american_iso": Hand(
        AMERICAN,
        volumes="kitchen",
        fahrenheit_and_inches=True,
        encoding="utf-8-sig",
        always={"drain_holes": "6", "hole_size": "0.4 in"},
    ),
    "unicode": Hand(
        UNICODE,
        times="compact",
        separator="\t",
        says_reached=True,
        encoding="utf-16",
        volume_left_blank=True,
        always={"sieved": "yes", "component_min_size": "2 mm", "component_max_size": "5 mm"},
    ),
    "wordy": Hand(
        WORDY,
        times="words",
        in_order_of_test=True,
        always={"pour_time": "8 s", "top_layer": "none"},
        notes=("poured onto a saucer,\nfrom a hand's breadth", 'the "good" peat'),
    ),
    "shouting": Hand(
        tuple(heading.upper().replace("_", " ") for heading in PLAIN),
        times="marks",
        line_end="\r",
        names_component_at_zero=False,
        notes=("rain water",),
    ),
    "workbook": Hand(
        BARE, times="seconds", shares="25", workbook=True, always={"taps": "10", "measured_by": "bag"}
    ),
    "workbook_clock": Hand(
        tuple(heading.title() for heading in (*GERMAN[:-2], "run order")), times="clock", workbook=True
    ),
}

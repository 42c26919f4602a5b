"""Every column of the run sheet and of an accepted run, described once: name, kind, unit, meaning.

The intake stage, the pandera model, the store tables, the public downloads, the blank sheet and the
dictionary page are all made from the two tables here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "code", "text", "date", "choice", "count", "share", "parts", "volume", "time", "length", "temperature"
]
Frame = Literal["text", "date", "number", "whole", "flag"]


@dataclass(frozen=True)
class SheetColumn:
    """One column that a member may fill in.

    `required`: "yes", "no", "one of two" (component_share / parts) or "may be blank" (the column must be
    there, its cells may be blank in stated cases). `choices` names the vocabulary in `schemas.vocabulary`.
    """

    name: str
    required: Literal["yes", "no", "one of two", "may be blank"]
    kind: Kind
    meaning: str
    choices: str | None = None
    example: str = ""


@dataclass(frozen=True)
class RunColumn:
    """One column of an accepted run, in canonical name and unit. `published`: stands in pool.csv."""

    name: str
    frame: Frame
    nullable: bool
    unit: str
    meaning: str
    published: bool = True


SHEET_COLUMNS: tuple[SheetColumn, ...] = (
    SheetColumn(
        "member", "yes", "code", "The member's code: 2-32 letters, digits or hyphens.", example="fen-07"
    ),
    SheetColumn(
        "series",
        "yes",
        "text",
        "The member's own label for tests made together, in one kind of pot, setup, component and grade.",
        example="spring bench",
    ),
    SheetColumn("tested_on", "yes", "date", "Day of the test, year-month-day.", example="2026-03-14"),
    SheetColumn(
        "climate_zone",
        "yes",
        "choice",
        "Köppen-Geiger class of the place, or unknown.",
        "climate_zone",
        "Cfb",
    ),
    SheetColumn("setup_type", "yes", "choice", "How the pot was held over the vessel.", "setup_type", "rack"),
    SheetColumn(
        "pot_volume",
        "may be blank",
        "volume",
        "Volume of mix in the pot as filled; may be blank where the three inside lengths are given.",
        example="1 l",
    ),
    SheetColumn(
        "base",
        "no",
        "choice",
        "What the mineral component is mixed into; sphagnum peat when blank.",
        "base",
        "sphagnum_peat",
    ),
    SheetColumn(
        "component",
        "may be blank",
        "choice",
        "The mineral component; may be blank at 0 %.",
        "component",
        "perlite",
    ),
    SheetColumn(
        "component_grade",
        "may be blank",
        "choice",
        "Grade word of the component; may be blank at 0 %.",
        "component_grade",
        "medium",
    ),
    SheetColumn(
        "component_share",
        "one of two",
        "share",
        "Component in percent of loose bulk volume before mixing; 0 is the baseline mix, straight base.",
        example="40 %",
    ),
    SheetColumn(
        "parts", "one of two", "parts", "Base and component in parts by volume, base first.", example="3+2"
    ),
    SheetColumn(
        "base_parts", "no", "parts", "Parts of base, where parts are given in two columns.", example="3"
    ),
    SheetColumn(
        "component_parts",
        "no",
        "parts",
        "Parts of component, where parts are given in two columns.",
        example="2",
    ),
    SheetColumn(
        "pot_no",
        "yes",
        "count",
        "Which filling of this share in this series: 1, 2, 3 …; emptying and refilling counts as a new one.",
        example="1",
    ),
    SheetColumn(
        "pour_no",
        "yes",
        "count",
        "How many times this pot has been poured in this series: 1 = freshly filled.",
        example="1",
    ),
    SheetColumn("poured", "yes", "volume", "Volume of water poured on.", example="300 ml"),
    SheetColumn(
        "collected",
        "yes",
        "volume",
        "Volume at which the clock stops; not more than was poured.",
        example="150 ml",
    ),
    SheetColumn(
        "drain_time",
        "yes",
        "time",
        "Time from the start of the pour until that volume is out: m:ss, h:mm:ss or with a unit.",
        example="3:25",
    ),
    SheetColumn("ended", "no", "choice", "How the run ended; reached when blank.", "ended", "reached"),
    SheetColumn("water_temp", "no", "temperature", "Temperature of the water, 0-45 °C.", example="18 °C"),
    SheetColumn(
        "pot_top_diameter", "no", "length", "Inside width of the pot at the fill line.", example="13 cm"
    ),
    SheetColumn("pot_base_diameter", "no", "length", "Inside width of the pot at its base.", example="10 cm"),
    SheetColumn("fill_depth", "no", "length", "Depth of mix in the pot.", example="10 cm"),
    SheetColumn("hardiness_zone", "no", "choice", "USDA hardiness half zone.", "hardiness_zone", "8b"),
    SheetColumn("growing_place", "no", "choice", "Where the plants are grown.", "growing_place", "outdoors"),
    SheetColumn("pre_wetted", "no", "choice", "Were the components wetted before mixing?", "yes_no", "yes"),
    SheetColumn("start_moisture", "no", "choice", "The mix just before the pour.", "start_moisture", "moist"),
    SheetColumn(
        "sieved", "no", "choice", "Were fines sieved or rinsed out of the component?", "yes_no", "yes"
    ),
    SheetColumn(
        "component_min_size", "no", "length", "Smallest grains of the component, where known.", example="2 mm"
    ),
    SheetColumn(
        "component_max_size", "no", "length", "Largest grains of the component, where known.", example="4 mm"
    ),
    SheetColumn("drain_holes", "no", "count", "Number of drain holes.", example="4"),
    SheetColumn("hole_size", "no", "length", "Width of a drain hole.", example="8 mm"),
    SheetColumn("hole_cover", "no", "choice", "What covers the holes.", "hole_cover", "none"),
    SheetColumn("came_out", "no", "volume", "Volume that came out when the run ran dry.", example="80 ml"),
    SheetColumn("pour_time", "no", "time", "How long pouring took.", example="8 s"),
    SheetColumn("rest_before", "no", "time", "Time since the pour before of this pot.", example="1 days"),
    SheetColumn("taps", "no", "count", "Number of taps after filling.", example="5"),
    SheetColumn("measured_by", "no", "choice", "How shares were measured.", "measured_by", "loose"),
    SheetColumn("peat_type", "no", "choice", "Kind of peat.", "peat_type", "medium"),
    SheetColumn("top_layer", "no", "choice", "What lies on the mix.", "top_layer", "none"),
    SheetColumn("planted", "no", "choice", "Is there a plant in the pot?", "yes_no", "no"),
    SheetColumn("club", "no", "code", "Code of the club.", example="club-3"),
    SheetColumn("round", "no", "code", "Code of a round or test day done together.", example="may-day"),
    SheetColumn("peat_lot", "no", "code", "Code of the bag of base; never published.", example="p12"),
    SheetColumn(
        "component_lot", "no", "code", "Code of the bag of component; never published.", example="c7"
    ),
    SheetColumn(
        "mix_age", "no", "time", "Time since mixing, for pots tested again later.", example="2 months"
    ),
    SheetColumn("run_order", "no", "count", "Order in which the pours of the series were made.", example="1"),
    SheetColumn("notes", "no", "text", "Free text, at most 500 characters; never published."),
)

RUN_COLUMNS: tuple[RunColumn, ...] = (
    RunColumn("member", "text", False, "", "The member's code as first spelled."),
    RunColumn("series", "text", False, "", "The member's label of the series as first spelled."),
    RunColumn("member_key", "text", False, "", "Member, letter case and spaces evened out.", published=False),
    RunColumn("series_key", "text", False, "", "Series, letter case and spaces evened out.", published=False),
    RunColumn("tested_on", "date", False, "", "Day of the test."),
    RunColumn("climate_zone", "text", False, "", "Köppen-Geiger class, or unknown."),
    RunColumn("setup_type", "text", False, "", "How the pot was held."),
    RunColumn("pot_volume_ml", "number", False, "ml", "Volume of mix in the pot."),
    RunColumn(
        "pot_volume_computed",
        "flag",
        False,
        "",
        "True where the volume was computed from the inside lengths.",
    ),
    RunColumn("base", "text", False, "", "What the component is mixed into."),
    RunColumn(
        "component", "text", True, "", "The mineral component; blank in a series with the baseline mix only."
    ),
    RunColumn("component_grade", "text", True, "", "Grade word of the component."),
    RunColumn(
        "component_share",
        "number",
        False,
        "percent by volume",
        "Component by bulk volume before mixing, to 0.1 point.",
    ),
    RunColumn("pot_no", "whole", False, "", "Which filling of this share in this series."),
    RunColumn("pour_no", "whole", False, "", "Which pour of this filling."),
    RunColumn("poured_ml", "number", False, "ml", "Water poured on."),
    RunColumn("collected_ml", "number", False, "ml", "Water out when the clock stops."),
    RunColumn("drain_time_s", "number", False, "s", "Time on the clock."),
    RunColumn("ended", "text", False, "", "reached, stopped or ran_dry."),
    RunColumn("water_temp_c", "number", True, "°C", "Water temperature."),
    RunColumn("pot_top_diameter_cm", "number", True, "cm", "Inside width at the fill line."),
    RunColumn("pot_base_diameter_cm", "number", True, "cm", "Inside width at the base."),
    RunColumn("fill_depth_cm", "number", True, "cm", "Depth of mix."),
    RunColumn("hardiness_zone", "text", True, "", "USDA half zone."),
    RunColumn("growing_place", "text", True, "", "Where the plants are grown."),
    RunColumn("pre_wetted", "text", True, "", "Components wetted before mixing."),
    RunColumn("start_moisture", "text", True, "", "The mix just before the pour."),
    RunColumn("sieved", "text", True, "", "Fines sieved or rinsed out."),
    RunColumn("component_min_size_mm", "number", True, "mm", "Smallest grains."),
    RunColumn("component_max_size_mm", "number", True, "mm", "Largest grains."),
    RunColumn("drain_holes", "whole", True, "", "Number of drain holes."),
    RunColumn("hole_size_mm", "number", True, "mm", "Width of a hole."),
    RunColumn("hole_cover", "text", True, "", "What covers the holes."),
    RunColumn("came_out_ml", "number", True, "ml", "Volume out when the run ran dry."),
    RunColumn("pour_time_s", "number", True, "s", "How long pouring took."),
    RunColumn("rest_before_h", "number", True, "h", "Time since the pour before of this pot."),
    RunColumn("taps", "whole", True, "", "Number of taps."),
    RunColumn("measured_by", "text", True, "", "How shares were measured."),
    RunColumn("peat_type", "text", True, "", "Kind of peat."),
    RunColumn("top_layer", "text", True, "", "What lies on the mix."),
    RunColumn("planted", "text", True, "", "A plant in the pot."),
    RunColumn("club", "text", True, "", "Code of the club."),
    RunColumn("round", "text", True, "", "Code of a round or test day."),
    RunColumn("peat_lot", "text", True, "", "Code of the bag of base.", published=False),
    RunColumn("component_lot", "text", True, "", "Code of the bag of component.", published=False),
    RunColumn("mix_age_days", "number", True, "days", "Time since mixing."),
    RunColumn("run_order", "whole", True, "", "Order of the pours."),
    RunColumn("notes", "text", True, "", "Free text.", published=False),
    RunColumn("submission", "text", False, "", "SHA-256 of the sheet's bytes."),
    RunColumn("sheet_row", "whole", False, "", "Row of the sheet, counted from the top of the file."),
    RunColumn(
        "part_marked", "flag", False, "", "True where collected is outside 40-60 % of poured: in no headline."
    ),
    RunColumn(
        "unlike_pour",
        "flag",
        False,
        "",
        "True where poured or collected is unlike the series' own: no contrast.",
    ),
)

RUN_COLUMN_NAMES: tuple[str, ...] = tuple(column.name for column in RUN_COLUMNS)

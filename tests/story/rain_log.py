"""A tiny second kind of sheet that only the tests know: a rain log, one row per day and gauge."""

from __future__ import annotations

from schemas.column import Column, Kept, Limits
from schemas.kinds.every_sheet import MEMBER, ORIGIN, SERIES, SERIES_KEYS
from schemas.kinds.kind import SheetKind

RAIN_LOG = SheetKind(
    name="rain",
    title="rain log",
    row="day",
    columns=(
        MEMBER,
        SERIES,
        Column(
            name="measured_on",
            required="yes",
            kind="date",
            meaning="Day on which the gauge was read.",
            kept=Kept("measured_on", "date", False, "", "Day on which the gauge was read."),
            example="2026-03-14",
        ),
        Column(
            name="under_roof",
            required="no",
            kind="choice",
            meaning="Does the gauge stand under a roof? No when blank.",
            kept=Kept("under_roof", "text", False, "", "The gauge stands under a roof."),
            choices="yes_no",
            when_blank="no",
            same_in_series="held",
        ),
        Column(
            name="rain",
            required="yes",
            kind="length",
            meaning="Depth of rain since the day before.",
            kept=Kept("rain_mm", "number", False, "mm", "Depth of rain.", limits=Limits(0, 500)),
            example="4.5 mm",
            spellings={"en": ("rainfall", "depth of rain")},
        ),
        Column(
            name="remarks",
            required="no",
            kind="text",
            meaning="Free text.",
            kept=Kept("remarks", "text", True, "", "Free text.", length=(0, 500), published=False),
            same_run_may_differ=True,
        ),
    ),
    derived=(*SERIES_KEYS, *ORIGIN),
    place=("measured_on",),
    series_rules=("changes_in_series",),
    sentences={"place": "day"},
)

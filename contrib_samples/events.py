"""What goes otherwise than planned in the invented federation: clocks stopped early, mixes that ran dry,
honest slips of the pen, and one sheet that corrects an earlier one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple


class Spot(NamedTuple):
    """One pour: member, series label, share, pot number, pour number."""

    member: str
    series: str
    share: float
    pot_no: int
    pour_no: int


# a clock stopped while water still dripped, and the part of the time it had run; few, so that answers stand
STOPPED: dict[Spot, float] = {
    Spot("lf-03", "shed", 15.0, 2, 1): 0.8,
    Spot("pf-01", "basement", 25.0, 1, 1): 0.7,
    Spot("qm-03", "one", 14.3, 1, 1): 0.9,
    # straight base, outside the headline: a dry start, a third pour
    Spot("lf-04", "May fine dry", 0.0, 1, 1): 0.6,
    Spot("oe-01", "glasshouse B", 0.0, 1, 3): 0.8,
}
# dripping ended before half was through, and the part of the pour that came out
RAN_DRY: dict[Spot, float] = {
    Spot("pf-02", "deck, bone dry", 0.0, 1, 1): 0.30,
    Spot("oe-03", "dry bags", 25.0, 1, 1): 0.40,
    Spot("zm-02", "Keller", 25.0, 2, 1): 0.45,
}


@dataclass(frozen=True)
class Slip:
    """A cell typed otherwise than meant. `typed` may hold {cell}, the cell as it should stand, or {number},
    the cell without its unit. `why` is the demo's own account; blank where the slip passes unnoticed."""

    spot: Spot
    column: str
    typed: str
    why: str


SLIPS: tuple[Slip, ...] = (
    # March
    Slip(Spot("qm-01", "Spring", 25.0, 1, 1), "drain_time", "1{cell}", ""),
    Slip(Spot("qm-01", "Spring", 50.0, 1, 2), "parts", "1:01", "a spreadsheet made a time of 1:1"),
    Slip(Spot("qm-01", "Spring", 50.0, 2, 2), "parts", "1:01", "a spreadsheet made a time of 1:1"),
    Slip(Spot("lf-01", "bench one", 60.0, 2, 2), "poured", "{number}", "no unit"),
    Slip(Spot("bogbean", "first try", 15.0, 1, 1), "component_share", "0.15", "a fraction, not a percentage"),
    # April
    Slip(Spot("oe-02", "porch", 33.3, 2, 3), "setup_type", "rakc", "a word that is no setup"),
    Slip(Spot("pf-01", "basement big", 60.0, 1, 1), "poured", "2 1/2 c", "c may be cups or something else"),
    Slip(Spot("zm-02", "Keller", 15.0, 1, 2), "water_temp", "61 °C", "hotter than a drain test is"),
    Slip(Spot("marsh-wren", "A", 40.0, 2, 2), "drain_time", "3.40", "a point where a colon was meant"),
    # May
    Slip(Spot("th-04", "barn", 15.0, 2, 2), "pour_no", "1", "the same pour number twice"),
    Slip(Spot("lf-05", "perlite", 60.0, 2, 2), "parts", "2-Mar", "a spreadsheet made a date of 2/3"),
    Slip(Spot("pf-03", "garage", 25.0, 2, 1), "drain_time", "3:75", "seconds past 59"),
    Slip(Spot("sundrop", "tray 1", 33.3, 1, 2), "component_grade", "course", "a word that is no grade"),
    Slip(Spot("oe-04", "spare bench", 50.0, 2, 1), "collected", "1100 ml", "more collected than poured"),
)
# a line of the sheet that was pasted twice
PASTED_TWICE: tuple[Spot, ...] = (Spot("qm-04", "peat", 40.0, 3, 1),)
# sent in the month after, with the cells as they should have been
CORRECTED_IN = 4
CORRECTION: tuple[Spot, ...] = tuple(slip.spot for slip in SLIPS if slip.spot.member == "qm-01")

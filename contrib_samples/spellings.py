"""From one drawn run to the cells of its line, as this member's hand types them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from contrib_samples.events import Spot
from contrib_samples.federation import FLUID_OUNCE_ML, PARTS, POTS, SHARED_PEAT_LOT, Member, Series
from contrib_samples.hands import Hand

Cell = str | float | date | timedelta

UNITS_IN_HEADINGS = ("ml", "l", "s", "min", "c", "f", "cm", "in")


@dataclass(frozen=True)
class Run:
    """One drawn pour, in plain units. `came_out_ml` only where it ran dry; `note` blank for none."""

    member: Member
    series: Series
    share: float
    pot_no: int
    pour_no: int
    tested_on: date
    drain_time_s: float
    ended: str
    water_temp_c: float
    run_order: int
    came_out_ml: float = 0.0
    note: str = ""

    @property
    def spot(self) -> Spot:
        return Spot(self.member.code, self.series.label, self.share, self.pot_no, self.pour_no)


def column_of(heading: str) -> tuple[str, str]:
    """Canonical column and unit ("" for none) that a typed heading names: `Pot volume (l)` is pot_volume, l."""
    bracket = re.search(r"[\[(](.+)[\])]", heading)
    plain = re.sub(r"[\[(].+[\])]", "", heading).strip().casefold()
    words = re.split(r"[\s_-]+", plain)
    if bracket:
        return "_".join(words), bracket.group(1).casefold()
    if words[-1] in UNITS_IN_HEADINGS:
        return "_".join(words[:-1]), words[-1]
    return "_".join(words), ""


def line_of(run: Run, hand: Hand) -> list[Cell]:
    """The cells of one run in the order of the hand's headings."""
    return [cell_of(run, hand, heading) for heading in hand.headings]


def cell_of(run: Run, hand: Hand, heading: str) -> Cell:
    """One cell; blank where this member leaves the column empty."""
    column, unit = column_of(heading)
    if column in hand.always:
        return hand.always[column]
    writer = WRITERS.get(column)
    if writer is not None:
        return writer(run, hand, unit)
    raise ValueError(f"no member of the federation knows how to fill in {column}")


def number(value: float, hand: Hand, places: int) -> str:
    """A number as typed: no padding zeros, the hand's decimal mark."""
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace(".", hand.decimal)


def _measure(value: float, unit: str, heading_unit: str, hand: Hand, places: int) -> str:
    text = number(value, hand, places)
    return text if heading_unit else f"{text} {unit}"


def _tested_on(run: Run, hand: Hand, _unit: str) -> Cell:
    day = run.tested_on
    if hand.workbook:
        return day
    if hand.dates == "german":
        return f"{day.day}.{day.month}.{day.year}"
    return f"{day.month}/{day.day}/{day.year}" if hand.dates == "slashed" else day.isoformat()


def _pot_volume(run: Run, hand: Hand, unit: str) -> Cell:
    pot = POTS[run.series.pot]
    if hand.volume_left_blank:
        return ""
    if hand.volumes == "kitchen" and pot.kitchen:
        return pot.kitchen[0]
    litres = unit == "l" or (not unit and hand.volumes == "l")
    if litres:
        return _measure(pot.volume_ml / 1000, "l", unit, hand, 2)
    return _measure(pot.volume_ml, "ml", unit, hand, 0)


def _poured(run: Run, hand: Hand, unit: str) -> Cell:
    pot = POTS[run.series.pot]
    if hand.volumes == "kitchen" and pot.kitchen:
        return pot.kitchen[1]
    return _measure(pot.poured_ml, "ml", unit, hand, 0)


def _collected(run: Run, hand: Hand, unit: str) -> Cell:
    pot = POTS[run.series.pot]
    if hand.volumes == "kitchen" and pot.kitchen:
        return pot.kitchen[2]
    return _measure(pot.poured_ml * run.series.collected_part, "ml", unit, hand, 0)


def _drain_time(run: Run, hand: Hand, unit: str) -> Cell:
    whole = round(run.drain_time_s)
    minutes, seconds = divmod(whole, 60)
    if hand.times == "clock":
        return timedelta(seconds=whole)
    if hand.times == "seconds":
        return _measure(whole, "s", unit, hand, 0)
    if hand.times == "minutes":
        return _measure(run.drain_time_s / 60, "min", unit, hand, 2)
    texts = {
        "m:ss": f"{minutes}:{seconds:02d}",
        "words": f"{minutes} min {seconds} s",
        "compact": f"{minutes}m{seconds:02d}s",
        "marks": f"{minutes}'{seconds:02d}\"",
    }
    return texts[hand.times]


def _share(run: Run, hand: Hand, _unit: str) -> Cell:
    text = number(run.share, hand, 1)
    return {"25 %": f"{text} %", "25%": f"{text}%"}.get(hand.shares, text)


def _parts(run: Run, hand: Hand, _unit: str) -> Cell:
    base, component = PARTS[run.share]
    return f"{base}{hand.shares[1:-1]}{component}"


def _water_temp(run: Run, hand: Hand, unit: str) -> Cell:
    if hand.fahrenheit_and_inches:
        return _measure(run.water_temp_c * 1.8 + 32, "°F", unit, hand, 0)
    return _measure(run.water_temp_c, "°C", unit, hand, 1)


def _length(position: int) -> Callable[[Run, Hand, str], Cell]:
    def write(run: Run, hand: Hand, unit: str) -> Cell:
        length = POTS[run.series.pot].lengths_cm[position]
        if hand.fahrenheit_and_inches:
            return _measure(length / 2.54, "in", unit, hand, 1)
        return _measure(length, "cm", unit, hand, 1)

    return write


def _start_moisture(run: Run, _hand: Hand, _unit: str) -> Cell:
    return "dry" if run.series.dry else "moist"


def _ended(run: Run, hand: Hand, _unit: str) -> Cell:
    return "" if run.ended == "reached" and not hand.says_reached else run.ended


def _came_out(run: Run, hand: Hand, unit: str) -> Cell:
    if run.ended != "ran_dry":
        return ""
    if hand.volumes == "kitchen":
        return _measure(run.came_out_ml / FLUID_OUNCE_ML, "fl oz", unit, hand, 1)
    return _measure(run.came_out_ml, "ml", unit, hand, 0)


def _component(run: Run, hand: Hand, _unit: str) -> Cell:
    return run.series.component if run.share or hand.names_component_at_zero else ""


def _grade(run: Run, hand: Hand, _unit: str) -> Cell:
    return run.series.grade if run.share or hand.names_component_at_zero else ""


def _rest_before(run: Run, _hand: Hand, _unit: str) -> Cell:
    return "24 h" if run.pour_no > 1 else ""


def _mix_age(run: Run, _hand: Hand, _unit: str) -> Cell:
    return f"{run.series.mix_age_weeks} weeks" if run.series.mix_age_weeks else ""


def _club(run: Run, _hand: Hand, _unit: str) -> Cell:
    return run.member.club


def _peat_lot(run: Run, _hand: Hand, _unit: str) -> Cell:
    return SHARED_PEAT_LOT.get(run.member.code, f"{run.member.code}-sack")


WRITERS: dict[str, Callable[[Run, Hand, str], Cell]] = {
    "member": lambda run, _hand, _unit: run.member.code,
    "series": lambda run, _hand, _unit: run.series.label,
    "club": _club,
    "tested_on": _tested_on,
    "climate_zone": lambda run, _hand, _unit: run.member.climate,
    "hardiness_zone": lambda run, _hand, _unit: run.member.hardiness,
    "setup_type": lambda run, _hand, _unit: run.series.setup,
    "pot_volume": _pot_volume,
    "base": lambda run, _hand, _unit: run.series.base,
    "component": _component,
    "component_grade": _grade,
    "component_share": _share,
    "parts": _parts,
    "base_parts": lambda run, _hand, _unit: str(PARTS[run.share][0]),
    "component_parts": lambda run, _hand, _unit: str(PARTS[run.share][1]),
    "pot_no": lambda run, _hand, _unit: str(run.pot_no),
    "pour_no": lambda run, _hand, _unit: str(run.pour_no),
    "poured": _poured,
    "collected": _collected,
    "drain_time": _drain_time,
    "ended": _ended,
    "came_out": _came_out,
    "water_temp": _water_temp,
    "pot_top_diameter": _length(0),
    "pot_base_diameter": _length(1),
    "fill_depth": _length(2),
    "start_moisture": _start_moisture,
    "pre_wetted": lambda run, _hand, _unit: "no" if run.series.dry else "yes",
    "rest_before": _rest_before,
    "round": lambda run, _hand, _unit: run.series.test_day,
    "peat_lot": _peat_lot,
    "mix_age": _mix_age,
    "run_order": lambda run, _hand, _unit: str(run.run_order),
    "notes": lambda run, _hand, _unit: run.note,
}

"""Volumes, lengths and temperatures of single cells, and the pot's volume from its inside lengths."""

from __future__ import annotations

import re
from fractions import Fraction

from pipeline.intake.cells.quantities import Quantity, read_quantity, split_number
from pipeline.intake.cells.readings import Fault, Reading, Setting
from schemas.units import Unit, find_unit

POT_VOLUME_HELD_ML = (Fraction(20), Fraction(500_000))
POT_VOLUME_USUAL_ML = (Fraction(50), Fraction(50_000))
WATER_TEMPERATURE_C = (Fraction(0), Fraction(45))

_POT_WORDS = re.compile(r"#|\bno\.? ?[0-9]|^p ?[0-9]+$|\b(?:pot|container|size|trade)\b", re.IGNORECASE)


def read_volume(text: str, setting: Setting) -> Reading:
    """Millilitres of a folded cell; the mark names a kitchen unit that was read as US customary."""
    quantity = read_quantity(text, "volume", setting)
    if isinstance(quantity, Fault):
        return quantity.reading()
    if quantity.value <= 0:
        return Reading(None, "not_above_zero", {"what": "a volume"})
    return Reading(float(quantity.value), mark=_kitchen(quantity))


def read_pot_volume(text: str, setting: Setting) -> Reading:
    """Millilitres of mix in a pot; a pot's label (`13 cm`, `#1`) is no volume."""
    if _POT_WORDS.search(text) or _is_length(text):
        return Reading(None, "pot_label")
    quantity = read_quantity(text, "volume", setting)
    if isinstance(quantity, Fault):
        return quantity.reading()
    if quantity.value <= 0:
        return Reading(None, "not_above_zero", {"what": "a volume"})
    rule, details = pot_volume_rule(quantity.value)
    value = None if rule == "pot_volume_outside" else float(quantity.value)
    return Reading(value, rule, details, mark=_kitchen(quantity))


def pot_volume_rule(millilitres: Fraction) -> tuple[str | None, dict[str, str]]:
    """The rule that speaks of a pot of that volume, if any, and what fills its sentence."""
    litres = {"litres": f"{float(millilitres) / 1000:.4g}"}
    if not POT_VOLUME_HELD_ML[0] <= millilitres <= POT_VOLUME_HELD_ML[1]:
        return "pot_volume_outside", litres
    if not POT_VOLUME_USUAL_ML[0] <= millilitres <= POT_VOLUME_USUAL_ML[1]:
        return "pot_volume_unusual", litres
    return None, {}


def read_length(text: str, setting: Setting) -> Reading:
    """A length of a folded cell, in the unit that the pool keeps for its column."""
    quantity = read_quantity(text, "length", setting)
    if isinstance(quantity, Fault):
        return quantity.reading()
    if quantity.value <= 0:
        return Reading(None, "not_above_zero", {"what": "a length"})
    if setting.longest is not None and quantity.value > setting.longest * setting.kept_per:
        details = {"read": _metres(quantity.value), "longest": _metres(setting.longest * setting.kept_per)}
        return Reading(None, "length_outside", details)
    return Reading(float(quantity.value / setting.kept_per))


def read_temperature(text: str, setting: Setting) -> Reading:
    """Degrees Celsius of a folded cell."""
    quantity = read_quantity(text, "temperature", setting)
    if isinstance(quantity, Fault):
        return quantity.reading()
    low, high = WATER_TEMPERATURE_C
    if not low <= quantity.value <= high:
        celsius = f"{float(quantity.value):.3g}"
        return Reading(None, "temperature_outside", {"read": celsius, "hint": _as_fahrenheit(text, quantity)})
    return Reading(float(quantity.value))


def _as_fahrenheit(text: str, quantity: Quantity) -> str:
    """A sentence for a number of degrees that would be usual water in °F."""
    if quantity.unit.name != "°C" or not 45 < quantity.value <= 113:
        return ""
    return f"{split_number(text)[0]} °F would be {float((quantity.value - 32) / Fraction(9, 5)):.3g} °C. "


def _metres(millimetres: Fraction | int) -> str:
    return f"{float(millimetres) / 1000:g} m"


def _is_length(text: str) -> bool:
    number, spelling = split_number(text)
    return bool(number and spelling) and isinstance(find_unit(spelling, "length"), Unit)


def _kitchen(quantity: Quantity) -> str | None:
    return quantity.unit.name if quantity.unit.bare_kitchen else None

"""Whole numbers: `1`, `2`, `3.0`."""

from __future__ import annotations

import re

from pipeline.intake.cells.numbers import read_number
from pipeline.intake.cells.readings import Fault, Reading, Setting

MAY_BE_ZERO = frozenset({"taps"})
"""Columns where none is an answer; everything else is counted from 1."""
LARGEST = 1_000_000

_PLAIN = re.compile(r"[0-9]+(?:[.,][0-9]+)*\Z")


def read_count(text: str, setting: Setting) -> Reading:
    """The whole number of a folded cell, from 1 (from 0 for taps)."""
    lowest = 0 if setting.column in MAY_BE_ZERO else 1
    wrong = Reading(None, "whole_number", {"lowest": str(lowest)})
    if not _PLAIN.match(text):
        return wrong
    value = read_number(text, setting.decimal_mark)
    if isinstance(value, Fault):
        if value.rule != "decimal_mark_open":
            return wrong
        return Reading(None, value.rule, {"what": "a whole number", **value.details})
    if value.denominator != 1 or not lowest <= value <= LARGEST:
        return wrong
    return Reading(int(value))

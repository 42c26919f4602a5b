"""The apostrophe that keeps a spreadsheet from running a text as a formula: set in downloads, taken off when read back."""

from __future__ import annotations

STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "|")
GUARD = "'"


def guarded(text: str) -> str:
    """The text with an apostrophe in front where a spreadsheet would run it, or where it looks guarded already."""
    return GUARD + text if text.lstrip(GUARD).startswith(STARTS_A_FORMULA) else text


def unguarded(text: str) -> str:
    """The text that `guarded` was given; an apostrophe in front of anything else is the text's own."""
    return text.removeprefix(GUARD) if text.lstrip(GUARD).startswith(STARTS_A_FORMULA) else text

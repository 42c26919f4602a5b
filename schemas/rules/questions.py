"""Which advice is a question to the member: something in an accepted row is odd, and may yet be true."""

from __future__ import annotations

QUESTIONS: frozenset[str] = frozenset(
    {
        "cone_volume_differs",
        "drains_fast",
        "drains_slow",
        "minutes_like_seconds",
        "pot_volume_unusual",
        "pot_volume_varies",
        "pour_time_long",
        "run_waits",
        "series_waits",
        "time_long",
        "time_short",
        "time_unlike_series",
    }
)
"""Ids of rules. The desk shows them to the sender from the moment a sheet is sent."""
ASKED_FIRST: tuple[str, ...] = ("sheets_passed_over", "rows_hidden", "cells_merged", "label_counts_up")
"""What may mean that a sheet was not read as it was meant: said before the counts, in place of thanks."""

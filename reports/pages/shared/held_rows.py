"""Rows that were held: how many wait by reason, what became of the others; and accepted runs that wait."""

from __future__ import annotations

import polars as pl

from reports.page import Block, TableBlock, cell, say
from reports.view import MonthView
from reports.words import count
from schemas.results.whole import ResultsValue
from schemas.rules.series import COUNTED_ONCE


def became_of(view: MonthView) -> str:
    """What became of the held rows since they came; nothing where all of them wait."""
    held, still = int(view.received.get("held", 0)), int(view.results["counts"]["held"])
    again = int(view.held_by_rule.filter(pl.col("rule") == COUNTED_ONCE)["rows"].sum())
    mended, waiting = held - still, still - again
    if min(mended, again, waiting) < 0 or waiting == held:
        return ""
    outcomes = [
        f"{mended} mended since" if mended else "",
        f"{again} counted once, since {'it repeats another row' if again == 1 else 'they repeat other rows'}"
        if again
        else "",
        f"{waiting} waiting" if waiting else "",
    ]
    return f" ({'; '.join(filter(None, outcomes))})"


def waiting_words(results: ResultsValue) -> str:
    """How many accepted runs wait for an answer, as a sentence; nothing where none does."""
    waits = results["waits"]
    return f"{count(waits, 'run')} {'waits' if waits == 1 else 'wait'} for an answer. " if waits else ""


def waiting_blocks(results: ResultsValue) -> list[Block]:
    """That runs wait for an answer, and what that means; nothing where none does."""
    if not results["waits"]:
        return []
    return [
        say(
            f"{waiting_words(results)}They are so far from their own series that an exact slip is likely, or equal to another "
            "series; until then they are counted in no figure."
        )
    ]


def held_table(view: MonthView) -> TableBlock | None:
    """Rows held per rule, most first; None where none were."""
    held = view.held_by_rule
    if held.is_empty():
        return None
    held = held.filter(held["level"] == "held").sort(["rows", "rule"], descending=[True, False])
    if held.is_empty():
        return None
    rows = tuple((cell(row["title"]), cell(str(row["rows"]))) for row in held.iter_rows(named=True))
    return TableBlock(
        "Held rows by reason",
        ("reason", "rows"),
        rows,
        frozenset({1}),
        "A row held for two reasons counts under both.",
        stays=True,
    )

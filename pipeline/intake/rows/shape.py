"""The shape of each sheet: are the required columns there, once each, and is each row as long as its heading."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from pipeline.intake.files.heading_names import heading_key
from pipeline.intake.files.headings import Headings
from pipeline.intake.files.table import TextTable
from pipeline.intake.received import Finding, problem_frame

KEYS = ["file_id", "sheet_row"]
LONGEST_SHOWN = 80
LONGEST_NAMED, MOST_IN_A_SENTENCE = 30, 6
"""How much of a heading, and how many of them, stand in one sentence: it is cut at 400 characters."""


def heading_findings(tables: Mapping[int, TextTable], gathered: pl.DataFrame) -> list[tuple[int, Finding]]:
    """What is to be said about the heading lines: missing, double, unknown and unnamed columns."""
    found: list[tuple[int, Finding]] = []
    for file_id, table in tables.items():
        found.extend((file_id, finding) for finding in _of_one_heading(table.headings))
    unnamed = gathered.filter("unnamed").group_by("file_id").agg(pl.col("sheet_row").min())
    for file_id, row in unnamed.sort("file_id").iter_rows():
        found.append((file_id, Finding("column_unnamed", {"row": str(row)})))
    return found


def _of_one_heading(headings: Headings) -> list[Finding]:
    found = []
    if headings.missing:
        column = headings.missing[0] if len(headings.missing) == 1 else None
        details = {"columns": ", ".join(headings.missing), "unknown": _unknown_words(headings)}
        found.append(Finding("column_missing", details, column=column))
    if headings.twice:
        pairs = "; ".join(f"“{first}” and “{second}” ({column})" for column, first, second in headings.twice)
        found.append(Finding("column_twice", {"pairs": pairs}, column=headings.twice[0][0]))
    for start in range(0, len(headings.understood), MOST_IN_A_SENTENCE):
        some = headings.understood[start : start + MOST_IN_A_SENTENCE]
        pairs = ", ".join(f"“{text[:LONGEST_NAMED]}” as {column}" for text, column in some)
        found.append(Finding("headings_understood", {"pairs": pairs}))
    lost = [heading for heading, _ in headings.own if heading_key(heading) not in headings.keys]
    if lost:
        named = ", ".join(f"“{heading[:LONGEST_NAMED]}”" for heading in lost[:MOST_IN_A_SENTENCE])
        found.append(Finding("own_heading_missing", {"headings": named}))
    for text, near in dict.fromkeys((text, near) for _, text, near in headings.unknown):
        meant = f"Was {_either(near)} meant? Then write that as its heading." if near else ""
        shown = text[:LONGEST_SHOWN]
        found.append(Finding("column_unknown", {"meant": meant}, column=shown, value=shown))
    return found


def _unknown_words(headings: Headings) -> str:
    """A sentence that names the headings that were not understood: one of them may be meant."""
    if not headings.unknown:
        return ""
    named = ", ".join(
        f"“{text[:LONGEST_NAMED]}”" + (f" ({_either(near)}?)" if near else "")
        for _, text, near in headings.unknown[:MOST_IN_A_SENTENCE]
    )
    return f"Not understood: {named}. "


def _either(names: tuple[str, ...]) -> str:
    return " or ".join(names)


def ragged_rows(gathered: pl.DataFrame, tables: Mapping[int, TextTable]) -> pl.DataFrame:
    """The problem frame of rows that are shorter or longer than their heading, in files whose heading is whole."""
    headings = {file_id: table.headings for file_id, table in tables.items() if table.headings.complete}
    most = max((heading.fewest_cells for heading in headings.values()), default=0)
    suspects = gathered.filter(pl.col("surplus").is_not_null() | (pl.col("cell_count") < most))
    found: list[tuple[int, Finding]] = []
    for file_id, row, count, surplus in suspects.select(*KEYS, "cell_count", "surplus").iter_rows():
        heading = headings.get(file_id)
        if heading is None:
            continue
        details = {"cells": str(count), "width": str(heading.width)}
        if surplus is not None:
            found.append((file_id, Finding("row_too_long", details, sheet_row=row, value=surplus)))
        elif count < heading.fewest_cells:
            found.append((file_id, Finding("row_too_short", details, sheet_row=row)))
    return problem_frame(found)


def without(rows: pl.DataFrame, problems: pl.DataFrame) -> pl.DataFrame:
    """The rows that no line of the problem frame speaks of."""
    return (
        rows.join(problems.select(KEYS), on=KEYS, how="anti", maintain_order="left")
        if problems.height
        else rows
    )


def whole_rows(cells: pl.DataFrame, tables: Mapping[int, TextTable], untrusted: pl.DataFrame) -> pl.Series:
    """True for the rows whose cells can be trusted to stand under their headings."""
    held = [file_id for file_id, table in tables.items() if not table.headings.complete]
    whole = ~cells["file_id"].is_in(held)
    if untrusted.height:
        lost = untrusted.select(KEYS).unique().with_columns(lost=True)
        whole &= cells.select(KEYS).join(lost, on=KEYS, how="left", maintain_order="left")["lost"].is_null()
    return whole

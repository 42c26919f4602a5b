"""A rule that breaks down becomes a finding about the sheet it broke down over, never a traceback."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from typing import Protocol

import polars as pl

from pipeline.check.findings import RowRule, no_findings, together
from schemas.problems import PROBLEM_SCHEMA
from schemas.rules import RULES

BREAKDOWNS = (Exception, pl.exceptions.PanicException)
"""What a rule may break down with; a person's Ctrl-C passes through."""

Work = Callable[[pl.DataFrame], pl.DataFrame]


class Check(Protocol):
    """Anything that looks at sheet rows and says what it found."""

    @property
    def id(self) -> str:
        """The rule of the catalogue that it applies (the first one, where it applies several)."""

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """A problem frame about these rows."""


def ask_all(checks: Iterable[Check], rows: pl.DataFrame) -> pl.DataFrame:
    """Everything the checks find in these rows, as one problem frame."""
    found: list[pl.DataFrame] = []
    for one in _with_something_to_say(list(checks), rows):
        found.extend(carried_out(one.id, one.find, rows, no_findings()))
    return together(found)


def _with_something_to_say(checks: list[Check], rows: pl.DataFrame) -> list[Check]:
    """The checks without those that a first look at all rows shows to be silent; should the look break down,
    all of them. It asks every row rule at once, which is many times quicker than one after the other."""
    whens = [one.when.any().alias(str(place)) for place, one in enumerate(checks) if isinstance(one, RowRule)]
    if len(whens) < 2:
        return checks
    try:
        speaks = rows.lazy().select(whens).collect().row(0, named=True)
    except BREAKDOWNS:
        return checks
    return [one for place, one in enumerate(checks) if speaks.get(str(place), True)]


def carried_out(
    rule_id: str, work: Work, rows: pl.DataFrame, nothing: pl.DataFrame
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """What `work` makes of the rows, and a problem frame of the files over which it broke down.

    The work is tried over all files at once; if it breaks down, file by file, so that one sheet never holds
    up another. A file over which it breaks down gets the file-level finding `rule_not_applied`, which holds
    its rows. `nothing` is the result where it broke down over every file.
    """
    try:
        return work(rows), no_findings()
    except BREAKDOWNS:
        results, told = [nothing], []
    for part in rows.partition_by("file_id", maintain_order=True):
        try:
            results.append(work(part))
        except BREAKDOWNS:
            told.append(_not_applied(rule_id, part["file_id"][0]))
    return pl.concat(results, how="vertical_relaxed"), together(told)


def _not_applied(rule_id: str, file_id: int) -> pl.DataFrame:
    titles = {one.id: one.title for one in RULES}
    details = json.dumps({"id": rule_id, "title": titles.get(rule_id, rule_id)}, ensure_ascii=False)
    return pl.DataFrame(
        {
            "file_id": [file_id],
            "sheet_row": [None],
            "column": [None],
            "value": [None],
            "rule": ["rule_not_applied"],
            "details": [details],
        },
        schema=PROBLEM_SCHEMA,
    )

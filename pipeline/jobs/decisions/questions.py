"""Questions that the coordinator put to members, and what became of them, as the journal tells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

import polars as pl

from pipeline.load.database import store
from pipeline.load.truth.journal import Line
from pipeline.load.views.reading import view

SETTLES = {"kept": "kept", "set_aside": "set aside", "withdrawn": "withdrawn"}


@dataclass(frozen=True)
class Question:
    """One question about a member's series (or all of a member's, `series_key` None). `answer`: what the member
    said; `settled`: what the coordinator decided afterwards, blank while the question stands."""

    line: int
    asked: datetime
    words: str
    member_key: str
    series_key: str | None
    series: str | None
    answer: str = ""
    settled: str = ""

    @property
    def open(self) -> bool:
        """Nobody has answered or decided yet."""
        return not self.answer and not self.settled


@dataclass(frozen=True)
class Aside:
    """A member or series that is set aside: since when, by whom, why."""

    since: datetime
    by: str
    words: str
    member_key: str
    series: str | None


def set_aside_now(pool: Path) -> list[Aside]:
    """What is set aside as the pool stands, newest first; decisions about single sheets and rows left out."""
    with store.reading(pool) as connection:
        lines = store.lines_of(connection)
    return set_aside_in(lines)


def set_aside_in(lines: Sequence[Line]) -> list[Aside]:
    """What journal lines set aside and did not keep afterwards, newest first."""
    asides: dict[tuple[str, str | None], Aside] = {}
    for line in lines:
        about = line.private or {}
        member_key = line.key("member")
        if member_key is None or line.event not in ("set_aside", "kept"):
            continue
        key = (member_key, line.key("series"))
        asides.pop(key, None)
        if line.event == "set_aside":
            asides[key] = Aside(line.at, line.by, about.get("reason", ""), key[0], about.get("series"))
    return list(reversed(asides.values()))


def questions(pool: Path) -> list[Question]:
    """Every question asked about a member, a series, a sheet or a row, newest first. Reads the readers' copy."""
    with store.reading(pool) as connection:
        lines = store.lines_of(connection)
    if any(line.event == "asked" and line.payload["scope"] in ("submission", "row") for line in lines):
        return questions_in(lines, view(pool).standing)
    return questions_in(lines)


def questions_in(lines: Sequence[Line], runs: pl.DataFrame | None = None) -> list[Question]:
    """The questions that journal lines tell of, newest first. A new question about the same replaces the old one.
    `runs`, in force or waiting, tell whose a sheet or a row is."""
    by_series: dict[tuple[str, str | None], Question] = {}
    for line in lines:
        for member, series_key, series in _whose(line, runs):
            key = (member, series_key)
            about = line.private or {}
            if line.event == "asked":
                by_series[key] = Question(
                    line.n, line.at, about.get("reason", ""), member, series_key, series
                )
            elif key in by_series and line.event == "answered":
                by_series[key] = replace(by_series[key], answer=about.get("words", ""))
            elif key in by_series and line.event in SETTLES:
                by_series[key] = replace(by_series[key], settled=SETTLES[line.event])
    return sorted(by_series.values(), key=lambda question: -question.line)


def _whose(line: Line, runs: pl.DataFrame | None) -> list[tuple[str, str | None, str | None]]:
    """(member key, series key, series) that a line is about."""
    about = line.private or {}
    member_key = line.key("member")
    if member_key is not None:
        return [(member_key, line.key("series"), about.get("series"))]
    if runs is None or line.event not in ("asked", *SETTLES) or "submission" not in line.payload:
        return []
    chosen = runs.filter(submission=line.payload["submission"])
    if line.payload["scope"] == "row":
        chosen = chosen.filter(sheet_row=line.payload["sheet_row"])
    return list(
        chosen.select("member_key", "series_key", "series").unique(["member_key", "series_key"]).iter_rows()
    )

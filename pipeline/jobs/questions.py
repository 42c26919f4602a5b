"""Questions that the coordinator put to members, and what became of them, as the journal tells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from pipeline.load import store
from pipeline.load.journal import Line

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


def questions(pool: Path) -> list[Question]:
    """Every question asked about a member or a series, newest first. Reads the readers' copy."""
    with store.reading(pool) as connection:
        lines = store.lines_of(connection)
    return questions_in(lines)


def questions_in(lines: Sequence[Line]) -> list[Question]:
    """The questions that journal lines tell of, newest first. A new question about the same replaces the old one."""
    found: dict[tuple[str, str | None], Question] = {}
    for line in lines:
        about = line.private or {}
        member = about.get("member_key")
        if member is None:
            continue
        key = (member, about.get("series_key"))
        if line.event == "asked":
            found[key] = Question(line.n, line.at, about.get("reason", ""), *key, about.get("series"))
        elif key in found and line.event == "answered":
            found[key] = replace(found[key], answer=about.get("words", ""))
        elif key in found and line.event in SETTLES:
            found[key] = replace(found[key], settled=SETTLES[line.event])
    return sorted(found.values(), key=lambda one: -one.line)

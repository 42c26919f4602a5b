"""Problems of a receipt as a page tells them: the same sentence once, with its places; those of the form by its own words."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pipeline.desk.sheets.bench_form import ASKED, ONCE, filled_lines
from schemas.receipt import ReceiptProblem
from schemas.rows_named import row_ranges

FIRST_ROW = 2
"""The row of a form's first pour in the sheet that was made from it."""
MOST_VALUES = 6


@dataclass(frozen=True)
class Told:
    """One thing to say: where, the cells as typed, what is wrong, what to write instead."""

    where: str
    values: tuple[str, ...]
    message: str
    fix: str


def as_told(problems: Sequence[ReceiptProblem], form: Mapping[str, str] | None = None) -> list[Told]:
    """Problems with equal words as one, in the order of the first of each. `form`: the fields of the page's form, where
    that made the sheet."""
    alike: dict[tuple[str | None, str, str], list[ReceiptProblem]] = {}
    for problem in problems:
        alike.setdefault((problem["column"], problem["message"], problem["fix"]), []).append(problem)
    lines = None if form is None else filled_lines(form)
    return [_told(group, lines) for group in alike.values()]


def _told(group: Sequence[ReceiptProblem], lines: Sequence[int] | None) -> Told:
    values = tuple(dict.fromkeys(problem["value"] for problem in group if problem["value"]))[:MOST_VALUES]
    rows = sorted({problem["row"] for problem in group if problem["row"] is not None})
    first = group[0]
    if lines is None:
        return Told(_place(rows, first["column"]), values, first["message"], first["fix"])
    where = _place_in_form(rows, first["column"], lines)
    return Told(where, values, in_form_words(first["message"]), in_form_words(first["fix"]))


def _place(rows: Sequence[int], column: str | None) -> str:
    where = (
        f"{'Row' if len(rows) == 1 else 'Rows'} {', '.join(row_ranges(rows))}" if rows else "The whole sheet"
    )
    return where if column is None else f"{where}, column {column}"


def _place_in_form(rows: Sequence[int], column: str | None, lines: Sequence[int]) -> str:
    """`Pour 1, time`; a field that the form asks once stands without its pours."""
    asked = ASKED.get(column or "", (column or "").replace("_", " "))
    if column in {one.name for one in ONCE}:
        return asked
    pours = [lines[row - FIRST_ROW] for row in rows if 0 <= row - FIRST_ROW < len(lines)]
    if not pours:
        return asked or "The form"
    where = f"{'Pour' if len(pours) == 1 else 'Pours'} {', '.join(row_ranges(pours))}"
    return f"{where}, {asked[:1].lower()}{asked[1:]}" if asked else where


def in_form_words(text: str) -> str:
    """A sentence about columns and rows in the words of the form: “How the pot was held” for setup_type."""
    for name in sorted(ASKED, key=len, reverse=True):
        own_words = f"“{ASKED[name]}”"
        text = re.sub(rf"\bthe column `?{name}\b`?", own_words, text)
        if "_" in name:
            text = re.sub(rf"`?\b{name}\b`?", own_words, text)
        else:
            text = re.sub(rf"`{name}`|^{name}\b(?= (?:is blank|“))", own_words, text)
    for ours, theirs in (
        ("; every row needs it", ""),
        (", and the heading names none", ""),
        (", or into the heading", ""),
        ("every row", "every pour"),
        ("accepted row", "accepted pour"),
        ("Its rows are", "Its pours are"),
    ):
        text = text.replace(ours, theirs)
    return text

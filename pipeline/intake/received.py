"""What comes into intake, what goes out, and the findings made on the way."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import polars as pl

from schemas.column import OwnHeadings
from schemas.kinds.kind import SheetKind
from schemas.problems import PROBLEM_SCHEMA

LARGEST_FILE_BYTES = 20_000_000
MOST_ROWS = 200_000


@dataclass(frozen=True)
class ReceivedFile:
    """One file as a member sent it: its name as typed on the command line, its bytes, and what the member said of
    own headings."""

    name: str
    content: bytes
    columns: OwnHeadings = ()


@dataclass(frozen=True)
class Sheets:
    """What was read from those files of a batch that are sheets of one kind.

    `kind`: the kind of sheet that they were read as. `files`: file_id (position in the batch), file, submission (SHA-256 of the bytes), rows, readable,
    decimal_mark. `cells`: file_id, sheet_row and the cells as typed, one column per sheet column that any of
    the files has. `typed`: the same rows in the same order, converted to canonical names and units.
    `problems`: one line per finding; the catalogue in `schemas.rules` holds its words.
    """

    kind: SheetKind
    files: pl.DataFrame
    cells: pl.DataFrame
    typed: pl.DataFrame
    problems: pl.DataFrame


@dataclass(frozen=True)
class Finding:
    """One thing to be said about a file (`sheet_row` None) or about a row of it."""

    rule: str
    details: Mapping[str, str]
    sheet_row: int | None = None
    column: str | None = None
    value: str | None = None


class UnreadableError(Exception):
    """A file can't be read as a run sheet; carries the rule that says why."""

    def __init__(self, rule: str, **details: str) -> None:
        super().__init__(rule)
        self.finding = Finding(rule, details)


def details_text(details: Mapping[str, str]) -> str:
    """A finding's details as one JSON object."""
    return json.dumps(dict(details), ensure_ascii=False, sort_keys=True) if details else "{}"


def problem_frame(found: Sequence[tuple[int, Finding]]) -> pl.DataFrame:
    """The problem frame of findings, each with the id of its file."""
    return pl.DataFrame(
        [
            (file_id, one.sheet_row, one.column, one.value, one.rule, details_text(one.details))
            for file_id, one in found
        ],
        schema=PROBLEM_SCHEMA,
        orient="row",
    )

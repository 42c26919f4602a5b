"""Findings put into the catalogue's words, and members' text made harmless wherever it is shown."""

from __future__ import annotations

import functools
import json
import re
import unicodedata
from collections.abc import Mapping
from string import Formatter

import polars as pl

from schemas.kinds.kind import SheetKind
from schemas.rules import RULES, cells, rule

SHOWN_CHARACTERS = 80
SHOWN_DETAIL = 400
WORDED_COLUMNS = ("file_id", "file", "row", "column", "value", "rule", "level", "message", "fix")
HELD_RULES: tuple[str, ...] = tuple(listed.id for listed in RULES if listed.level == "held")
MAY_BE_LEFT_BLANK = frozenset(
    listed.id
    for listed in cells.RULES
    if listed.level == "held" and not re.search("blank|neither", listed.fix)
)
"""Rules of single cells that hold a row for an optional cell too, and do not say yet that it may be blank."""

_RANKS = {one.id: place for place, one in enumerate(RULES)}


def harmless(text: str) -> str:
    """The text with every character that steers a terminal or turns the reading direction (control
    characters, escapes, bidi marks, zero-width ones) written as its escape, such as `\\x1b` or `\\u202e`."""
    if text.isprintable():
        return text
    return "".join(
        character
        if character.isprintable() or unicodedata.category(character) == "Zs"
        else _escaped(character)
        for character in text
    )


def shortened(text: str, at_most: int = SHOWN_CHARACTERS) -> str:
    """The text, or its beginning and its length where it is longer than a message should carry."""
    if len(text) <= at_most:
        return text
    return f"{text[:at_most].rstrip()}… ({len(text)} characters)"


def shown(text: str, at_most: int = SHOWN_CHARACTERS) -> str:
    """A member's text as a message may show it: shortened, then harmless."""
    return harmless(shortened(text, at_most))


def worded(problems: pl.DataFrame, files: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """The problem frame in words: file_id, file, row, column, value, rule, level, message, fix; sorted by
    file, row (file-level first), the sheet's order of columns and the catalogue's of rules. `value` stays as
    typed; where it or a detail stands in a message it is shortened and harmless."""
    said = ["rule", "column", "value", "details"]
    texts = problems.select(said).unique(maintain_order=True)
    words = [_words(kind, *one) for one in texts.iter_rows()]
    texts = texts.with_columns(
        pl.Series("level", [level for level, _, _ in words], dtype=pl.String),
        pl.Series("message", [message for _, message, _ in words], dtype=pl.String),
        pl.Series("fix", [fix for _, _, fix in words], dtype=pl.String),
    )
    order = {column.name: place for place, column in enumerate(kind.columns)}
    place = pl.col("column").replace_strict(order, default=len(order), return_dtype=pl.UInt32)
    told_first = pl.col("rule").replace_strict(_RANKS, return_dtype=pl.UInt32)
    return (
        problems.join(texts, on=said, how="left", nulls_equal=True, maintain_order="left")
        .join(files.select("file_id", "file"), on="file_id", how="left", maintain_order="left")
        .with_columns(row="sheet_row")
        .sort("file_id", "row", place, told_first, nulls_last=False, maintain_order=True)
        .select(WORDED_COLUMNS)
    )


def _words(
    kind: SheetKind, rule_id: str, column: str | None, value: str | None, details: str
) -> tuple[str, str, str]:
    listed = rule(rule_id)
    given: Mapping[str, object] = json.loads(details)
    safe = {name: shown(str(text), SHOWN_DETAIL) for name, text in given.items()}
    message, fix = listed.worded(
        column, None if value is None else shown(value), {**_blanks(rule_id), **kind.words, **safe}
    )
    if value and listed.id in MAY_BE_LEFT_BLANK and column in _optional(kind):
        fix += " Leaving it blank is fine."
    return listed.level, message, " ".join(fix.split())


@functools.cache
def _optional(kind: SheetKind) -> frozenset[str]:
    """The columns whose cells may be blank."""
    return frozenset(
        column.name for column in kind.columns if column.required == "no" and column.kind != "text"
    )


@functools.cache
def _blanks(rule_id: str) -> dict[str, str]:
    """A blank for each name that a rule's templates ask for: a finding that lacks a detail still reads."""
    listed = rule(rule_id)
    names = {
        name for text in (listed.message, listed.fix) for _, name, _, _ in Formatter().parse(text) if name
    }
    return dict.fromkeys(names - {"column", "value"}, "")


def _escaped(character: str) -> str:
    code = ord(character)
    short = {"\n": "\\n", "\r": "\\r", "\t": "\\t"}.get(character)
    if short:
        return short
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"

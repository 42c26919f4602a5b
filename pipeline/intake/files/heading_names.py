"""The names that headings go by: a column's own, its spellings in five languages, and near misses of both.

Names compare without letter case, accents, spaces, hyphens, dots and brackets; `ä` may be written `ae`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container, Mapping
from difflib import get_close_matches
from functools import cache
from typing import Literal, NamedTuple

from pipeline.intake.characters import fold
from schemas.column import Column
from schemas.kinds.kind import SheetKind

_LEFT_OUT = re.compile(r"[\s_\-.,:;/()\[\]{}]+|(?<=\w)'(?=\w)")
_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})
_CLOSE = 0.8
"""Share of letters that a near miss has in common with a name: one or two letters off, of eight."""
_LETTERS_IN_COMMON = 4
"""A heading is near a name that holds it whole, from so many letters on: `time` is near `drain_time`."""
_MOST_PROPOSED = 3


NamedBy = Literal["name", "spelling", "member"]
"""What names a column: its own name, a further spelling, or what the member said of own headings."""


class NamedColumn(NamedTuple):
    """A column, and what it is called by."""

    column: Column
    named_by: NamedBy


def plain(text: str) -> str:
    """A heading folded, in small letters and without accents."""
    small = fold(text).casefold()
    if small.isascii():
        return small
    apart = unicodedata.normalize("NFD", small)
    return unicodedata.normalize("NFC", "".join(char for char in apart if not unicodedata.combining(char)))


def heading_key(text: str) -> str:
    """What two headings have in common that name the same."""
    return key_of_plain(plain(text))


def key_of_plain(text: str) -> str:
    """The same of a text that is `plain` already."""
    return _LEFT_OUT.sub("", text)


@cache
def named_columns(kind: SheetKind) -> Mapping[str, NamedColumn]:
    """The kind's columns by the key of each heading that names them."""
    names: dict[str, NamedColumn] = {}
    for column in kind.columns:
        for spelling in (spelling for spellings in column.spellings.values() for spelling in spellings):
            written_out = fold(spelling).casefold().translate(_UMLAUTS)
            for key in (heading_key(spelling), heading_key(written_out)):
                names.setdefault(key, NamedColumn(column, "spelling"))
    return {**names, **{heading_key(column.name): NamedColumn(column, "name") for column in kind.columns}}


@cache
def near_columns(text: str, kind: SheetKind) -> tuple[str, ...]:
    """Names of the columns that a heading may be a slip for or a part of, the nearest first; at most three."""
    names = named_columns(kind)
    key = heading_key(re.split(r"[(\[{]", fold(text), maxsplit=1)[0])
    close = get_close_matches(key, names, n=_MOST_PROPOSED, cutoff=_CLOSE)
    if not close and len(key) >= _LETTERS_IN_COMMON:
        close = [heading_key(column.name) for column in kind.columns if key in heading_key(column.name)]
    return tuple(dict.fromkeys(names[match].column.name for match in close))[:_MOST_PROPOSED]


def proposed(text: str, kind: SheetKind, standing: Container[str]) -> tuple[str, ...]:
    """The columns that a heading may be meant for, of those that the sheet has not yet."""
    return tuple(name for name in near_columns(text, kind) if name not in standing)

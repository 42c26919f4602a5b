"""Labels and codes as they are compared: members' codes, series labels, nicknames, everywhere by one key.

A spreadsheet changes what a person types: hyphens become dashes, straight quotes curly, a letter with an accent one
character or two. Two labels are the same when their keys are the same.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

DEFAULT_IGNORABLE = (
    (0x00AD, 0x00AD), (0x034F, 0x034F), (0x061C, 0x061C), (0x115F, 0x1160), (0x17B4, 0x17B5), (0x180B, 0x180F),
    (0x200B, 0x200F), (0x202A, 0x202E), (0x2060, 0x206F), (0x3164, 0x3164), (0xFE00, 0xFE0F), (0xFEFF, 0xFEFF),
    (0xFFA0, 0xFFA0), (0xFFF0, 0xFFF8), (0x1BCA0, 0x1BCA3), (0x1D173, 0x1D17A), (0xE0000, 0xE0FFF),
)  # fmt: skip
"""Characters that take no room: Unicode's Default_Ignorable_Code_Point (DerivedCoreProperties.txt, from memory)."""

INVISIBLE = dict.fromkeys(code for low, high in DEFAULT_IGNORABLE for code in range(low, high + 1))
HYPHENS = dict.fromkeys(
    (
        *(8208, 8209, 8210, 8211, 8212, 8213, 8259, 8722, 727, 1418, 1470, 5120, 6150),
        *(11799, 11802, 11834, 11835, 11840, 11869, 12316, 12336, 12448, 65073, 65074, 65112, 65123),
        *(65293, 69293),
    ),
    "-",
)
"""Unicode's dash punctuation (Pd), and the minus and hyphen signs of other classes."""
_MARKS: dict[int, str] = {
    **HYPHENS,
    **dict.fromkeys(map(ord, "‘’‚‛′‵`´ʹʼʻʽ‹›＇"), "'"),
    **dict.fromkeys(map(ord, "“”„‟″‶ʺ«»＂"), '"'),
}
_SPACES = re.compile(r"[\s\u180e]+")
_ALPHABETS = ("LATIN", "CYRILLIC", "GREEK")


def label_key(text: str) -> str:
    """A code or label as it is compared: letter case, compositions, dashes, quotes, runs of spaces and invisible
    characters evened out. The key of a key is the key itself."""
    if text.isascii():
        return _SPACES.sub(" ", text.replace("`", "'")).strip().casefold()
    return _SPACES.sub(" ", _folded(text)).strip()


def _folded(text: str) -> str:
    # decomposed before the letter case is evened out: Unicode's canonical caseless match (chapter 3.13)
    visible = unicodedata.normalize("NFD", text.translate(INVISIBLE)).casefold()
    return unicodedata.normalize("NFC", visible).translate(_MARKS)


def same_label(one: str | None, other: str | None) -> bool:
    """Whether two labels are the same; a missing one is the same as none."""
    return one is not None and other is not None and label_key(one) == label_key(other)


def mixes_alphabets(text: str) -> bool:
    """Whether the letters come from more than one of the Latin, Cyrillic and Greek alphabets, which look alike."""
    names = (unicodedata.name(letter, "") for letter in text if letter.isalpha())
    return len({name.split()[0] for name in names if name.startswith(_ALPHABETS)}) > 1


def mentions(text: str, key: str) -> bool:
    """Whether a text mentions the label of this key as a word of its own, in any spelling."""
    return next(_places(text, key), None) is not None


def without_mentions(text: str, key: str, instead: str) -> str:
    """The text with every mention of the label of this key, in any spelling, put `instead`."""
    parts, end = [], 0
    for start, stop in _places(text, key):
        parts += [text[end:start], instead]
        end = stop
    return "".join([*parts, text[end:]])


def _places(text: str, key: str) -> Iterator[tuple[int, int]]:
    """Where the label of a key stands in a text: first and last position (exclusive) of each mention."""
    if not key:
        return
    # file names join words with low lines
    text = text.replace("_", " ")
    words = r"\s+".join(map(re.escape, key.split(" ")))
    found = re.compile(rf"(?<![\w-]){words}(?![\w-])")
    if text.isascii():
        yield from (match.span() for match in found.finditer(text.replace("`", "'").lower()))
        return
    if not found.search(_folded(text)):
        return
    folded, origins = _clusters(text)
    for match in found.finditer(folded):
        yield origins[match.start()][0], origins[match.end() - 1][1]


def _clusters(text: str) -> tuple[str, list[tuple[int, int]]]:
    """The folded text, and for each of its characters the span of the text that it came from. What composes with the
    character before it, or can't be seen, belongs to that character."""
    parts: list[str] = []
    origins: list[tuple[int, int]] = []
    start = 0
    while start < len(text):
        stop = start + 1
        while stop < len(text) and _belongs(text[start:stop], text[stop]):
            stop += 1
        part = _folded(text[start:stop])
        parts.append(part)
        origins += [(start, stop)] * len(part)
        start = stop
    return "".join(parts), origins


def _belongs(before: str, character: str) -> bool:
    if character.isascii():
        return False
    if ord(character) in INVISIBLE or unicodedata.combining(character):
        return True
    visible = before.translate(INVISIBLE)
    joined = unicodedata.normalize("NFC", visible + character)
    return joined != unicodedata.normalize("NFC", visible) + unicodedata.normalize("NFC", character)

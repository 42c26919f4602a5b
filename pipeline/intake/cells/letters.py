"""Letters that were changed on the way: text read in another encoding than it was saved in."""

from __future__ import annotations

import unicodedata

_OLDER = ("cp1252", "cp1250", "mac_roman")
"""The encodings that older spreadsheets of the West, of Middle Europe and of the Mac save in."""
_FIRST_SHARED_BYTE = 0xA0
"""Below, the Mac has accented letters where Windows has others."""


def before_garbling(text: str) -> str:
    """`Frühling` for `FrÃ¼hling`: what UTF-8 text was before it was read as one of the older encodings; "" where
    it was not."""
    if text.isascii():
        return ""
    for encoding in _OLDER:
        try:
            before = b"".join(_byte(letter, encoding) for letter in text).decode("utf-8")
        except UnicodeError:
            continue
        if all(map(_of_a_word, before)):
            return before
    return ""


def _of_a_word(letter: str) -> bool:
    """Whether a letter may stand in a word of Latin letters. Two letters such as `ßŁ` are the bytes of one letter of
    a script that nobody here writes; that is chance, not a word that was changed."""
    return not letter.isalpha() or unicodedata.name(letter, "").startswith("LATIN")


def _byte(letter: str, encoding: str) -> bytes:
    """The byte of a letter; one without a letter of its own in an encoding stands for itself."""
    return bytes([ord(letter)]) if 0x80 <= ord(letter) < _FIRST_SHARED_BYTE else letter.encode(encoding)


def reads_alike(letter: str) -> bool:
    """Whether a letter that was read as Windows-1252 is the same in the other older encodings, as far as small letters
    go: ü and é are, š and ø are not."""
    if letter.isascii():
        return True
    byte = letter.encode("cp1252", errors="replace")
    return byte[0] >= _FIRST_SHARED_BYTE and byte.decode("cp1250", errors="replace") == letter

"""Characters that look alike or can't be seen: what is trimmed from a cell, and what stands for what in numbers."""

from __future__ import annotations

import re

_WHITE = "\t\n\x0b\x0c\r\x1c\x1d\x1e\x1f \x85\xa0\u1680\u2028\u2029\u202f\u205f\u3000" + "".join(
    chr(code) for code in range(0x2000, 0x200B)
)
_INVISIBLE = "\xad\u180e\ufeff" + "".join(
    chr(code)
    for low, high in ((0x200B, 0x2010), (0x202A, 0x202F), (0x2060, 0x2065), (0x2066, 0x206A))
    for code in range(low, high)
)

SPACES = _WHITE + _INVISIBLE
"""Spaces of every kind, and marks that take no room: trimmed from both ends of every cell."""

_SPLIT_NUMBER = re.compile(rf"[0-9.,:/][{_INVISIBLE}]+[0-9.,:/]")

_FOLDED: dict[int, str | None] = {
    **{code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)},
    **dict.fromkeys(map(ord, _WHITE), " "),
    **dict.fromkeys(map(ord, _INVISIBLE)),
    **dict.fromkeys(map(ord, "‐‑‒–—―−﹣"), "-"),
    **dict.fromkeys(map(ord, "′‘’ʹ´`"), "'"),
    **dict.fromkeys(map(ord, "″“”„ʺ"), '"'),
    **dict.fromkeys(map(ord, "⁄∕"), "/"),
    ord("∶"): ":",
    ord("º"): "°",
    ord("℃"): "°C",
    ord("℉"): "°F",
    ord("ℓ"): "l",
    ord("㎖"): "ml",
    ord("㎝"): "cm",
    ord("㎜"): "mm",
    ord("﹪"): "%",
}


def splits_a_number(text: str) -> bool:
    """Whether a character that can't be seen stands inside a number, as a soft hyphen in a `3-4`: 34 for one reader."""
    return not text.isascii() and _SPLIT_NUMBER.search(text) is not None


def fold(text: str) -> str:
    """A cell of numbers or set words with full-width, curly and invisible characters written plainly, trimmed.
    Digits of other scripts are left alone: no number is read from them."""
    return text.translate(_FOLDED).strip() if not text.isascii() else text.strip(SPACES)

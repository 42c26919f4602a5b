"""Mixing ratios as growers write them: two numbers of parts by volume, base first, such as `3+1`, `3:1`, `3 to 1`."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import NamedTuple

LARGEST_WRITTEN = 5
HALF_A_POINT = 0.5
PARTS_EXPECTED = "base and component in parts, such as 3+1 or 3:1"

_PART = r"(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_DIVIDER = r" ?(?::|\+|/|\bto\b|(?<=[0-9])to(?=[0-9.,])) ?"
_TWO_PARTS = re.compile(rf"({_PART})({_DIVIDER})({_PART})\Z", re.IGNORECASE)
_MORE_PARTS = re.compile(rf"{_PART}(?:{_DIVIDER}{_PART}){{2,}}\Z", re.IGNORECASE)
_DIVIDED = re.compile(_DIVIDER, re.IGNORECASE)
_PADDED = re.compile(r"0[0-9]")
_NAMED_PARTS = {
    2: ("half", "halves"),
    3: ("third", "thirds"),
    4: ("quarter", "quarters"),
    5: ("fifth", "fifths"),
}


class TypedParts(NamedTuple):
    """Two parts as typed, in the order typed, and what stands between them: `:`, `+`, `/` or `to`."""

    first: str
    divider: str
    second: str

    @property
    def padded(self) -> bool:
        """Whether a part has a zero in front (`03`), which a spreadsheet puts there."""
        return any(_PADDED.match(part) for part in (self.first, self.second))


def split_parts(text: str) -> TypedParts | None:
    """The two parts of a cell; None where it holds no two numbers with a divider between them."""
    match = _TWO_PARTS.match(text)
    return TypedParts(match[1], match[2].strip().lower(), match[3]) if match else None


def is_more_than_two(text: str) -> bool:
    """Whether a cell holds three parts or more, such as `2:1:1`."""
    return bool(_MORE_PARTS.match(text))


def is_padded(part: str) -> bool:
    """Whether a number has a zero in front, such as `03`."""
    return bool(_PADDED.match(part))


def percent_of_parts(base: Fraction, component: Fraction) -> Fraction:
    """Percent of component in a mix of these parts by volume: 3 and 2 is 40 (common practice of the trade).
    Raises ZeroDivisionError where both are 0."""
    return 100 * component / (base + component)


def parts_of(share: float) -> str | None:
    """A share in percent as whole parts up to 5, base first, such as `3:2`; None where none comes within half a point."""
    near = [
        (
            component + base,
            abs(float(percent_of_parts(Fraction(base), Fraction(component))) - share),
            base,
            component,
        )
        for base in range(1, LARGEST_WRITTEN + 1)
        for component in range(1, LARGEST_WRITTEN + 1)
    ]
    _, off, base, component = min(near, key=lambda ratio: (ratio[1] > HALF_A_POINT, ratio[0], ratio[1]))
    return f"{base}:{component}" if off <= HALF_A_POINT else None


def percent_in(text: str) -> float | None:
    """Percent of component that a text of parts gives, base first, either decimal mark. None where it holds no two
    parts, where both are 0, and where a slash stands between them, which has two readings."""
    parts = split_parts(text.strip())
    if parts is None or parts.divider == "/":
        return None
    base, component = (Fraction(part.replace(",", ".")) for part in (parts.first, parts.second))
    return float(percent_of_parts(base, component)) if base + component else None


def says_parts(text: str) -> bool:
    """Whether somebody who may write percent or parts wrote parts, well formed or not."""
    return bool(_DIVIDED.search(text))


def slashed_readings(first: str, second: str, component_first: bool = False) -> str:
    """What `1/3` may mean, as parts that are read: `1+3`, or `2+1` for one third of component. `component_first`:
    the sheet writes its parts the other way round."""
    as_parts = f"{first}+{second}"
    if not (first.isdecimal() and second.isdecimal() and int(first) < int(second)):
        turned = "base" if component_first else "component"
        return (
            as_parts if first == second else f"{as_parts}, or {second}+{first} if the {turned} stands first"
        )
    share, whole = int(first), int(second)
    mixed = f"{share}+{whole - share}" if component_first else f"{whole - share}+{share}"
    return f"{as_parts}, or {mixed} for {_share_in_words(share, whole)}"


def _share_in_words(share: int, whole: int) -> str:
    """`one third`, `2 fifths`, `3 of 16`."""
    if whole not in _NAMED_PARTS:
        return f"{share} of {whole}"
    single, several = _NAMED_PARTS[whole]
    return f"one {single}" if share == 1 else f"{share} {several}"

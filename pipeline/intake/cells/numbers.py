"""Numbers as members write them: `1.5`, `1,5`, `1 234,5`, `1/2`, `1 1/2`, `½`, `1½`; read exactly, or not at all.

A mark is the decimal mark for certain where it is followed by other than three digits, or stands behind nothing,
a lone 0 or four or more digits, or after marks of the other kind. All else is ambiguous: `1.234` is read by what
the rest of its file settles, and held where nothing does. No exponents, no digits of other scripts, no `inf`.
"""

from __future__ import annotations

import re
from fractions import Fraction

from pipeline.intake.cells.readings import Fault

_VULGAR: dict[str, Fraction] = {
    "½": Fraction(1, 2),
    "⅓": Fraction(1, 3),
    "⅔": Fraction(2, 3),
    "¼": Fraction(1, 4),
    "¾": Fraction(3, 4),
    "⅕": Fraction(1, 5),
    "⅖": Fraction(2, 5),
    "⅗": Fraction(3, 5),
    "⅘": Fraction(4, 5),
    "⅙": Fraction(1, 6),
    "⅚": Fraction(5, 6),
    "⅐": Fraction(1, 7),
    "⅛": Fraction(1, 8),
    "⅜": Fraction(3, 8),
    "⅝": Fraction(5, 8),
    "⅞": Fraction(7, 8),
    "⅑": Fraction(1, 9),
    "⅒": Fraction(1, 10),
}
VULGAR_FRACTIONS = "".join(_VULGAR)
LONGEST_HEAD, LONGEST_TAIL = 15, 20
"""Most digits that a number may have, and may have behind its mark (a spreadsheet writes 0.30000000000000004)."""

_WHOLE = re.compile(r"[0-9]+\Z")
_ONE_MARK = re.compile(r"([0-9]*)([.,])([0-9]+)\Z")
_BOTH_MARKS = re.compile(r"[0-9]{1,3}(?:(?:\.[0-9]{3})+(,)|(?:,[0-9]{3})+(\.))([0-9]+)\Z")
_GROUPS = re.compile(r"[0-9]{1,3}(?:(?:(\.)[0-9]{3}){2,}|(?:(,)[0-9]{3}){2,})\Z")
_SPACED_GROUPS = re.compile(r"[0-9]{1,3}(?: [0-9]{3})+(?:[.,][0-9]+)?\Z")
_FRACTION = re.compile(r"(?:([0-9]{1,6}) +)?([0-9]{1,6}) ?/ ?([0-9]{1,6})\Z")
_WITH_VULGAR = re.compile(rf"([0-9]{{1,6}})? ?([{VULGAR_FRACTIONS}])\Z")
_NUMBER_WITH_MARK = re.compile(r"[0-9]*(?:[.,][0-9]+)+")
_OTHER = {".": ",", ",": "."}


def sure_mark(number: str) -> str | None:
    """The decimal mark that a number settles by its own form ("." or ","); "" where it is ambiguous, None where
    it has no mark or is no number."""
    one_mark = _ONE_MARK.match(number)
    if one_mark:
        head, mark, tail = one_mark.groups()
        sure = len(tail) != 3 or not head.strip("0") or len(head) > 3
        return mark if sure else ""
    both = _BOTH_MARKS.match(number)
    if both:
        return both.group(1) or both.group(2)
    groups = _GROUPS.match(number)
    if groups:
        return _OTHER[groups.group(1) or groups.group(2)]
    return None


def marks_settled_by(cell: str) -> str:
    """All decimal marks that the numbers in a cell settle: "", ".", "," or ".,"."""
    settled = {sure_mark(number) for number in _NUMBER_WITH_MARK.findall(cell)}
    return "".join(mark for mark in ".," if mark in settled)


def read_number(text: str, decimal_mark: str) -> Fraction | Fault:
    """The exact value of a number, negative ones included; `decimal_mark` is what its file settles ("" for
    nothing). A Fault of rule `number_form` or `decimal_mark_open` where it can't be read."""
    negative = text.startswith("-")
    number = text[1:].lstrip() if negative else text
    value = _unsigned(number, decimal_mark)
    if isinstance(value, Fault):
        return value
    return -value if negative else value


def has_fraction(number: str) -> bool:
    """Whether a number is written with a fraction, such as `1/2`, `1 1/2` or `½`."""
    return "/" in number or any(sign in _VULGAR for sign in number)


def without_fraction(number: str) -> str:
    """An example of the same written without a fraction: 0.75 for `¾`, the first number of `2/4`, a range."""
    value = _unsigned(number, "")
    if "/" in number or not isinstance(value, Fraction):
        return number.partition("/")[0].strip() or "3"
    return f"{float(value):.4g}"


def _unsigned(number: str, decimal_mark: str) -> Fraction | Fault:
    if _SPACED_GROUPS.match(number):
        return _marked(number.replace(" ", ""), decimal_mark, grouped=True)
    vulgar = _WITH_VULGAR.match(number)
    if vulgar:
        return Fraction(int(vulgar.group(1) or 0)) + _VULGAR[vulgar.group(2)]
    fraction = _FRACTION.match(number)
    if fraction:
        whole, above, below = (int(part or 0) for part in fraction.groups())
        if not 0 < above < below:  # neither proper nor mixed: `4/2`, `1 5/4`
            return Fault("number_form", {})
        return whole + Fraction(above, below)
    return _marked(number, decimal_mark)


def _marked(number: str, decimal_mark: str, grouped: bool = False) -> Fraction | Fault:
    """A number with digits and marks only; `grouped` where its thousands were set apart by spaces, so that a
    single mark can only be the decimal mark."""
    if len(number) > LONGEST_HEAD + LONGEST_TAIL + 6:
        return Fault("number_form", {})
    if _WHOLE.match(number) and len(number) <= LONGEST_HEAD:
        return Fraction(int(number))
    mark = sure_mark(number)
    if mark is None:
        return Fault("number_form", {})
    if mark == "" and not grouped:
        mark = decimal_mark
    if mark == "" and grouped:
        mark = "." if "." in number else ","
    if mark == "":
        return Fault("decimal_mark_open", _both_readings(number))
    head, _, tail = number.replace(_OTHER[mark], "").partition(mark)
    if len(head) > LONGEST_HEAD or len(tail) > LONGEST_TAIL:
        return Fault("number_form", {})
    return Fraction(int(head + tail or 0), 10 ** len(tail))


def _both_readings(number: str) -> dict[str, str]:
    small = number.replace(",", ".")
    short = small.rstrip("0").removesuffix(".")
    mended = f"{small}0" if short == small else short
    return {"small": small, "large": small.replace(".", ""), "mended": mended}

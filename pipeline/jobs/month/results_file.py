"""`results.json`: the same figures always give the same bytes.

Six significant digits, magnitudes below 1e-9 as 0, keys sorted, UTF-8, one final newline; a figure that
can't be known is null with a sentence in "why".
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

DIGITS = 6
NOTHING_BELOW = 1e-9
NOT_COMPUTED = "This figure could not be computed from these runs."


def as_bytes(results: Mapping[str, Any]) -> bytes:
    """The whole value as the bytes of the file."""
    text = json.dumps(plain_value(results), sort_keys=True, ensure_ascii=False, indent=1, allow_nan=False)
    return (text + "\n").encode()


def plain_value(value: Any) -> Any:
    """A copy with every number rounded; numbers that are none become null, and the nearest object
    around them says so in "why" unless it already gives a reason."""
    return _value(value)[0]


def rounded(number: float) -> int | float | None:
    """One number as the file carries it; null for what is no finite number."""
    if not math.isfinite(number):
        return None
    if abs(number) < NOTHING_BELOW:
        return 0
    short = float(f"{number:.{DIGITS}g}")
    return int(short) if short.is_integer() and abs(short) < 10**DIGITS else short


def _value(value: Any) -> tuple[Any, bool]:
    """The plain copy, and whether a number inside was lost whose reason still has to be given."""
    if value is None or isinstance(value, (bool, int, str)):
        return value, False
    if isinstance(value, Mapping):
        parts = {str(key): _value(part) for key, part in value.items()}
        plain = {key: part for key, (part, _) in parts.items()}
        if any(lost for _, lost in parts.values()) and not plain.get("why"):
            plain["why"] = NOT_COMPUTED
        return plain, False
    if isinstance(value, (list, tuple)):
        items = [_value(part) for part in value]
        return [part for part, _ in items], any(lost for _, lost in items)
    number = rounded(float(value))
    return number, number is None

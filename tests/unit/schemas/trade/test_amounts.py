"""Lengths of time in words."""

from __future__ import annotations

from decimal import Decimal

import pytest

from schemas.trade.amounts import duration_in_words, plain_decimal


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (205, "3 min 25 s"),
        (12300, "3 h 25 min"),
        (45.5, "45.5 s"),
        (3600, "1 h"),
        (93601, "26 h 1 s"),
        (0, "0 s"),
        (205.125, "3 min 25.1250 s"),
    ],
)
def test_as_a_person_says_it(seconds: float, words: str) -> None:
    assert duration_in_words(seconds) == words


@pytest.mark.parametrize(
    ("number", "text"),
    [("1.50", "1.5"), ("100", "100"), ("1.234", "1.2340"), ("1E+2", "100"), ("1E-7", "0.0000001")],
)
def test_plain_digits(number: str, text: str) -> None:
    assert plain_decimal(Decimal(number)) == text

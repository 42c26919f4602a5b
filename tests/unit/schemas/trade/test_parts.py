"""The grammar of parts, and what a slash may mean."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.trade.parts import (
    is_more_than_two,
    percent_in,
    percent_of_parts,
    says_parts,
    slashed_readings,
    split_parts,
)


@pytest.mark.parametrize(
    ("cell", "parts"),
    [
        ("3:1", ("3", ":", "1")),
        ("3 + 1", ("3", "+", "1")),
        ("3 TO 1", ("3", "to", "1")),
        ("3to1", ("3", "to", "1")),
        ("1/3", ("1", "/", "3")),
        (".5:0,5", (".5", ":", "0,5")),
    ],
)
def test_two_parts(cell: str, parts: tuple[str, str, str]) -> None:
    assert split_parts(cell) == parts


@pytest.mark.parametrize("cell", ["3", "3-1", "3:", "2:1:1", "three to one", "3 1", ""])
def test_what_is_not_two_parts(cell: str) -> None:
    assert split_parts(cell) is None
    assert is_more_than_two(cell) == (cell == "2:1:1")


@pytest.mark.parametrize(
    ("cell", "readings"),
    [
        ("1/3", "1+3, or 2+1 for one third"),
        ("2/5", "2+5, or 3+2 for 2 fifths"),
        ("1/2", "1+2, or 1+1 for one half"),
        ("3/8", "3+8, or 5+3 for 3 of 8"),
        ("1/1", "1+1"),
        ("3/1", "3+1, or 1+3 if the component stands first"),
    ],
)
def test_a_slash_may_be_a_ratio_or_a_fraction(cell: str, readings: str) -> None:
    first, second = cell.split("/")
    assert slashed_readings(first, second) == readings


@given(st.integers(1, 30), st.integers(2, 31))
def test_the_fraction_offered_has_that_share(share: int, whole: int) -> None:
    if share < whole:
        base, component = slashed_readings(str(share), str(whole)).split("or ")[1].split(" ")[0].split("+")
        assert percent_of_parts(Fraction(base), Fraction(component)) == Fraction(100 * share, whole)


@pytest.mark.parametrize(
    ("text", "percent"),
    [("3+2", 40.0), (" 1,5 : 0.5 ", 25.0), ("1:0", 0.0), ("0:0", None), ("1/3", None), ("40", None)],
)
def test_percent_in_a_text_of_parts(text: str, percent: float | None) -> None:
    assert percent_in(text) == percent


def test_parts_are_told_from_percent_though_badly_formed() -> None:
    assert all(map(says_parts, ("3+2", "3:", "3 to 2", "1/3", "2:1:1")))
    assert not any(map(says_parts, ("40", "40 %", "33,3", "half", "tomorrow")))

"""Shares and numbers as people type them."""

from __future__ import annotations

import pytest

from pipeline.errors import WrongUseError
from pipeline.jobs.planning.words_typed import read_number, read_shares


@pytest.mark.parametrize("typed", ["0,25,40", "0 25 40", "0 %, 25 %, 40 %", "0;25;40"])
def test_shares(typed: str) -> None:
    assert read_shares(typed) == (0.0, 25.0, 40.0)


def test_nothing_typed_is_no_share() -> None:
    assert read_shares(None) == ()


@pytest.mark.parametrize("typed", ["forty", "-5", "nan", "inf", "3:2"])
def test_what_is_no_share(typed: str) -> None:
    with pytest.raises(WrongUseError, match="--shares"):
        read_shares(typed)


def test_a_fraction_is_asked_about() -> None:
    with pytest.raises(WrongUseError, match=r"looks like a fraction\. Write percents: 25 "):
        read_shares("0.25")


def test_numbers_with_either_mark() -> None:
    assert read_number("0,8", "--chance") == read_number("0.8", "--chance") == 0.8
    assert read_number(None, "--chance") is None
    with pytest.raises(WrongUseError, match="--ratio: “much”"):
        read_number("much", "--ratio")

"""The wording ladder and numbers in words: fixed by the project's notes on its readers."""

from __future__ import annotations

import pytest

from reports import words


@pytest.mark.parametrize(
    ("p_faster", "members", "said"),
    [
        (0.95, 30, "drains faster"),
        (0.94, 30, "probably drains faster"),
        (0.80, 30, "probably drains faster"),
        (0.79, 30, "may drain faster"),
        (0.65, 30, "may drain faster"),
        (0.64, 30, "we cannot tell yet"),
        (0.36, 30, "we cannot tell yet"),
        (0.35, 30, "may drain slower"),
        (0.20, 30, "probably drains slower"),
        (0.05, 30, "drains slower"),
        (0.99, 7, "may drain faster"),
        (0.99, 8, "drains faster"),
        (0.99, 4, "too few growers to say"),
        (None, 30, "too few growers to say"),
    ],
)
def test_ladder(p_faster: float | None, members: int, said: str) -> None:
    assert words.ladder(p_faster, members) == said


@pytest.mark.parametrize(
    ("value", "shown"),
    [(1.64, "1.6"), (0.834, "0.83"), (0.0834, "0.083"), (12.4, "12"), (137.0, "140"), (0.996, "1.00"), (0.994, "0.99"), (1.06, "1.06"), (1.096, "1.1"), (9.97, "10"), (1.0, "1.00")],
)  # fmt: skip
def test_two_significant_figures_three_near_one(value: float, shown: str) -> None:
    assert words.two_figures(value) == shown


@pytest.mark.parametrize(
    ("probability", "said"),
    [(0.8, "about 16 of 20"), (0.999, "at least 19 of 20"), (0.001, "fewer than 1 of 20"), (0.03, "about 1 of 20"), (0.97, "about 19 of 20")],
)  # fmt: skip
def test_frequencies_never_claim_all_or_none(probability: float, said: str) -> None:
    assert words.out_of_twenty(probability) == said


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(0.01, "5 s"), (0.5, "30 s"), (1.0, "1 min"), (2.41, "2 min 25 s"), (4.94, "4 min 55 s"), (4.97, "5 min"), (7.4, "7½ min"), (9.8, "10 min"),
     (35.2, "35 min"), (99.4, "99 min"), (99.6, "1 h 40 min"), (137.0, "2 h 20 min"), (178.0, "3 h")],
)  # fmt: skip
def test_times_as_a_person_says_them(minutes: float, said: str) -> None:
    assert words.time_words(minutes).replace(words.TIED, " ") == said


@pytest.mark.parametrize(
    ("share", "said"),
    [(25.0, "25 % (3:1)"), (33.3, "33.3 % (2:1)"), (40.0, "40 % (3:2)"), (50.0, "50 % (1:1)"), (60.0, "60 % (2:3)"), (47.0, "47 %"), (15.0, "15 %")],
)  # fmt: skip
def test_a_share_stands_beside_its_parts(share: float, said: str) -> None:
    assert words.mix(share) == said


def test_counts_dates_and_parts() -> None:
    assert words.who(9, 14, 84) == "9 growers, 14 series, 84 runs"
    assert words.who(1, 1, 1) == "1 grower, 1 series, 1 run"
    assert words.day("2026-05-31T23:59:59Z") == "31 May 2026"
    assert words.month_name("2026-05") == "May 2026"
    assert words.parts_phrase("3:1", "sphagnum_peat", "silica_sand") == "3 parts peat to 1 part silica sand"
    assert words.times_as_fast(1.004) == "as fast"
    assert words.times_as_fast(1.02) == "1.02 times as fast"
    assert words.listed(["a", "b", "c"]) == "a, b and c"

"""A decimal comma that splits a number moves the cells behind it: such rows are held."""

from __future__ import annotations

import pytest

from tests.unit.intake.writing import PLAIN, read, rules

HEADING = ",".join([*list(PLAIN)[:-1], "drain_time_s", "water_temp_c", "taps"])
ROW = ",".join(list(PLAIN.values())[:-1])


def found(*ends: str) -> list[str]:
    return rules(read("\n".join([HEADING, *(f"{ROW},{end}" for end in ends)])))


@pytest.mark.parametrize("others", [("310,18,2", "221,19,2"), ("310,18", "221,18")])
def test_a_split_number_is_held(others: tuple[str, ...]) -> None:
    assert found(*others, "205,5,18") == ["comma_splits_number"]


@pytest.mark.parametrize(
    "ends",
    [
        ("310,18,2", "205,5,2"),
        ("310,18,2", "205,18,3"),
        ("205,5,18",),
        ("310,18,2", "205,5,3"),
        ("310,18,2", '"205,5",18'),
    ],
)
def test_rows_that_fit_as_they_stand_are_read(ends: tuple[str, ...]) -> None:
    assert found(*ends) == []

"""Where the pool leans on one grower's tests, or on one bag, the front page says what that leaves open."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

import pytest

from reports.pages.front.limits import leaning
from schemas.results.details import DetailsValue
from tests.unit.reports.invented_month import invented_view


@pytest.mark.parametrize(
    ("part", "shared", "said"),
    [
        (0.6, [], ["One grower made 60 of 100 series"]),
        (0.5, [], []),
        (None, ["one bag of base", "one test day"], ["share one bag of base and one test day"]),
    ],
)
def test_it_is_said_where_it_is_so(part: float | None, shared: list[str], said: list[str]) -> None:
    (answer,) = invented_view(12).answers
    rests: Any = {"largest_part_of_series": part, "shared_by_all": shared}
    lines = leaning(replace(answer, details=cast(DetailsValue, {**answer.details, "rests_on": rests})))
    assert len(lines) == len(said)
    assert all(words in line for words, line in zip(said, lines, strict=True))

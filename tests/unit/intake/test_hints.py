"""A cell that is not read is answered with what to write in its place."""

from __future__ import annotations

import json

import pytest

from pipeline.check.wording import worded
from schemas.kinds.run import RUN
from tests.unit.intake.writing import read, sheet


def answers(cells: dict[str, str]) -> list[str]:
    """What a member with one such row is told to write."""
    sheets = read(sheet(cells))
    return worded(sheets.problems, sheets.files, RUN)["fix"].to_list()


@pytest.mark.parametrize(
    ("cells", "answer"),
    [
        ({"climate_zone": ""}, "Write your climate class, such as Cfb, or unknown."),
        ({"pot_no": ""}, "Write 1 for the first pot of this mix, 2 for the next."),
        ({"poured": ""}, "Write it, such as 300 ml."),
        ({"component_share": "1:1"}, "Write 50, or 1+1 in the column parts."),
        ({"component_share": "", "parts": "0"}, "Write straight base as 1+0."),
        (
            {"tested_on": "14.3.26"},
            "The year needs four digits: 14.3.2026. Write it as year-month-day, such as 2026-03-14.",
        ),
        (
            {"climate_zone": "8b"},
            "8b is a hardiness zone: that stands in hardiness_zone. Write the class of your place, such as Cfb, "
            "Csb or Dfb, or unknown.",
        ),
        ({"drain_time": "2 mins 25"}, "Write 2:25 or 2 min 25 s."),
        ({"poured": "1.000 ml"}, "Write 1000 or 1, whichever is meant."),
    ],
)
def test_what_to_write_instead(cells: dict[str, str], answer: str) -> None:
    assert answers(cells) == [answer]


def test_an_optional_cell_may_be_left_blank() -> None:
    assert answers({"fill_depth": "deep"})[0].endswith("Leaving it blank is fine.")
    assert not answers({"poured": "much"})[0].endswith("Leaving it blank is fine.")


def test_the_imperial_measure_stands_beside_the_american() -> None:
    found = read(sheet({"poured": "1 pint", "collected": "1/2 pint"})).problems
    assert json.loads(found["details"].item()) == {"units": "1 pint = 473.2 ml (imperial 568.3 ml)"}

"""What can be read of a held row's key."""

from __future__ import annotations

import json
from typing import Any

import polars as pl
import pytest

from pipeline.load.views.waiting import with_keys
from schemas.kinds.run import RUN


def keys(**cells: Any) -> dict[str, Any]:
    held = pl.DataFrame({"receipt": [1], "cells": [json.dumps(cells)]})
    names = ["member_key", "series_key", "component_share", "pot_no", "pour_no"]
    return {
        name: value
        for name, value in with_keys(held, RUN).select(names).row(0, named=True).items()
        if value is not None
    }


def test_member_and_series_are_evened_out() -> None:
    assert keys(member=" Fen-07 ", series="Spring  bench") == {
        "member_key": "fen-07",
        "series_key": "spring bench",
    }


@pytest.mark.parametrize(
    ("cells", "share"),
    [
        ({"component_share": "25"}, 25.0),
        ({"component_share": "33,3 %"}, 33.3),
        ({"parts": "3:1"}, 25.0),
        ({"parts": "2 to 1"}, 33.3),
        ({"parts": "1+0"}, 0.0),
        ({"parts": "0:0"}, None),
        ({"parts": "1/3"}, None),
        ({"parts": "03:01:00"}, None),
        ({"component_share": "a lot"}, None),
        ({"component_share": "0.25"}, 25.0),
        ({"component_share": "1/3"}, 33.3),
        ({"component_share": "3/1"}, None),
        ({"component_share": "0"}, 0.0),
    ],
)
def test_shares_in_percent_or_parts(cells: dict[str, str], share: float | None) -> None:
    assert keys(**cells).get("component_share") == share


@pytest.mark.parametrize(("cell", "number"), [("2", 2), ("2.0", 2), ("two", None), ("", None)])
def test_pots_and_pours(cell: str, number: int | None) -> None:
    assert keys(pot_no=cell, pour_no=cell).get("pot_no") == number


def test_cells_that_are_not_there_are_not_asked_for() -> None:
    assert keys() == {}

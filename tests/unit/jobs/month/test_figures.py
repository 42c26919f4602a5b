"""The frames beside a month's results."""

from __future__ import annotations

import polars as pl

from pipeline.jobs.month.figures import held_by_rule, received_counts
from pipeline.jobs.query.steps import counted, present_levels, with_pot_levels
from schemas.rules import RULES
from schemas.trade.pots import POT_LEVELS


def test_held_rows_are_counted_by_rule() -> None:
    first, second = RULES[0], RULES[1]
    held = pl.DataFrame(
        {"reasons": [[first.id], [first.id, second.id], []]}, schema={"reasons": pl.List(pl.String)}
    )
    assert held_by_rule(held).rows() == [
        (first.id, first.title, first.level, 2),
        (second.id, second.title, second.level, 1),
    ]
    assert held_by_rule(held.clear()).rows() == []


def test_received_sheets_are_counted() -> None:
    receipts = pl.DataFrame({"rows": [10, 5], "accepted": [9, 5], "held": [1, 0]})
    assert received_counts(receipts) == {"sheets": 2, "rows": 15, "accepted": 14, "held": 1}
    assert received_counts(receipts.clear()) == {"sheets": 0, "rows": 0, "accepted": 0, "held": 0}


def test_pots_fall_into_one_band_each() -> None:
    volumes = [20.0, 499.9, 500.0, 999.9, 1000.0, 2000.0, 4999.0, 5000.0, 500000.0]
    runs = pl.DataFrame(
        {
            "pot_volume_ml": volumes,
            "member_key": [str(at) for at in range(9)],
            "series_key": "a",
        }
    )
    banded = with_pot_levels(runs)
    assert present_levels(banded, "pot") == tuple(name for name, _ in POT_LEVELS)
    assert [banded.filter(pot_level=name).height for name, _ in POT_LEVELS] == [2, 2, 1, 2, 2]
    assert present_levels(banded.filter(pot_level="1 to 2 l"), "pot") == ("1 to 2 l",)
    assert counted(runs) == {"members": 9, "series": 9, "runs": 9}

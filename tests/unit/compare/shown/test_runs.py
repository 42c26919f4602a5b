"""Straight base and repeated fillings, told from fresh runs alone."""

from __future__ import annotations

import math

import polars as pl
import pytest

from pipeline.compare.shown.runs import rates_by_year, straight_rate, two_pots_within


def runs(*rows: tuple[str, float, int, float], **changes: object) -> pl.DataFrame:
    """Member, share, pot and rate of fresh, moist first pours on peat."""
    frame = pl.DataFrame(
        rows, schema={"member": pl.String, "component_share": pl.Float64, "pot_no": pl.Int64, "rate_ml_min_l": pl.Float64},
        orient="row",
    )  # fmt: skip
    columns = {
        "series": "one", "base": "sphagnum_peat", "pour_no": 1, "ended": "reached", "part_marked": False, "unlike_pour": False, "planted": "no",
        "mix_age_days": 1.0, "start_moisture": "moist", "pre_wetted": "yes", **changes,
    }  # fmt: skip
    return frame.with_columns(pl.lit(value).alias(name) for name, value in columns.items())


def test_a_busy_grower_counts_once() -> None:
    rate, members = straight_rate(
        runs(("a", 0, 1, 10.0), ("b", 0, 1, 40.0), ("b", 0, 2, 40.0)), "sphagnum_peat"
    )
    assert members == 2 and rate == pytest.approx(20.0)


@pytest.mark.parametrize(
    "change",
    [
        {"pour_no": 2}, {"ended": "stopped"}, {"part_marked": True}, {"unlike_pour": True}, {"planted": "yes"}, {"mix_age_days": 31.0},
        {"start_moisture": "dry"}, {"base": "coir"},
    ],
    ids=str,
)  # fmt: skip
def test_what_is_not_fresh_straight_peat_gives_no_rate(change: dict[str, object]) -> None:
    assert straight_rate(runs(("a", 0, 1, 10.0), **change), "sphagnum_peat") == (None, 0)


def test_mixes_give_no_rate_of_straight_peat() -> None:
    assert straight_rate(runs(("a", 40.0, 1, 10.0)), "sphagnum_peat") == (None, 0)


def test_two_fillings_lie_within_their_spread() -> None:
    """Variance of ln 10 and ln 12 is half their squared difference."""
    rows = two_pots_within(runs(("a", 0, 1, 10.0), ("a", 0, 2, 12.0), ("b", 0, 1, 9.0))).to_dicts()
    assert [(row["member"], row["fillings"]) for row in rows] == [("a", 1)]
    assert rows[0]["within"] == pytest.approx(math.exp(2.8 * math.log(1.2) / math.sqrt(2)))


def test_years_are_told_of_mixes_timed_in_more_than_one() -> None:
    dated = [
        runs(("a", 0, 1, 10.0), ("a", 0, 2, 40.0), ("a", 40, 1, 30.0), ("b", 0, 1, 9.0), tested_on="2025-04"),
        runs(("a", 0, 1, 15.0), tested_on="2026-04-03"),
    ]
    rows = (
        rates_by_year(pl.concat(dated))
        .select("member", "component_share", "year", "rate_ml_min_l", "runs")
        .rows()
    )
    assert [(row[0], row[1], row[2], row[4]) for row in rows] == [
        ("a", 0.0, "2025", 2),
        ("a", 0.0, "2026", 1),
    ]
    assert [row[3] for row in rows] == pytest.approx([20.0, 15.0])

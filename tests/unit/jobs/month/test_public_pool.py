"""What the public may see of the runs (contract section 3, small numbers)."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import polars as pl

from pipeline.jobs.month.public_pool import RATE, public_runs
from schemas.kinds.run import RUN
from schemas.trade.small_numbers import coarsened

EMPTY = {"text": pl.String, "date": pl.Date, "number": pl.Float64, "whole": pl.Int64, "flag": pl.Boolean}


def runs(*rows: Mapping[str, object]) -> pl.DataFrame:
    schema = {column.name: EMPTY[column.frame] for column in RUN.kept} | {RATE: pl.Float64}
    plain = {
        "series": "a",
        "series_key": "a",
        "tested_on": date(2026, 3, 14),
        "climate_zone": "Cfb",
        "component_share": 0.0,
        "pot_no": 1,
        "pour_no": 1,
        "submission": "00",
        "sheet_row": 2,
    }
    return pl.DataFrame([plain | {"member_key": row["member"], **row} for row in rows], schema=schema)


def zones(*pairs: tuple[str, str | None], column: str = "climate_zone") -> list[str | None]:
    return coarsened(runs(*({"member": member, column: zone} for member, zone in pairs)))[column].to_list()


def test_a_class_of_three_members_is_named() -> None:
    assert zones(("m1", "Cfb"), ("m2", "Cfb"), ("m3", "Cfb")) == ["Cfb"] * 3


def test_runs_do_not_count_as_members() -> None:
    assert zones(("m1", "Cfb"), ("m1", "Cfb"), ("m2", "Cfb")) == [None] * 3


def test_a_small_class_is_written_by_its_letter_where_that_has_three() -> None:
    pairs = [("m1", "Cfb"), ("m2", "Cfb"), ("m3", "Cfb"), ("m4", "Csa")]
    assert zones(*pairs) == ["Cfb", "Cfb", "Cfb", "C"]


def test_a_small_letter_is_written_by_nothing() -> None:
    assert zones(("m1", "Dfb"), ("m2", "Dfa")) == [None, None]


def test_unknown_stays() -> None:
    assert zones(("m1", "unknown")) == ["unknown"]


def test_hardiness_likewise() -> None:
    pairs = [("m1", "8a"), ("m2", "8b"), ("m3", "8b"), ("m4", "10a"), ("m5", None)]
    assert zones(*pairs, column="hardiness_zone") == ["8", "8", "8", None, None]


def test_days_are_months_and_private_columns_are_gone() -> None:
    got = public_runs(
        runs({"member": "m1", "notes": "at 3 Mill Lane", "peat_lot": "p1", "component_lot": "c1"})
    )
    assert got["tested_on"].to_list() == ["2026-03"]
    assert not {"notes", "peat_lot", "component_lot", "member_key", "series_key"} & set(got.columns)
    assert {"pot_volume_ml", "drain_time_s", RATE, "submission", "sheet_row"} <= set(got.columns)


def test_formulas_are_made_harmless() -> None:
    labels = ["=1+1", "+cmd", "-x", "@sum", "|pipe", "\tx", "-5", "+3.5", "plain", "a=b"]
    frame = runs(*({"member": "m1", "series": label, "pot_no": at} for at, label in enumerate(labels, 1)))
    got = set(public_runs(frame)["series"].to_list())
    assert got == {"'=1+1", "'+cmd", "'-x", "'@sum", "'|pipe", "'\tx", "-5", "+3.5", "plain", "a=b"}


def test_the_order_is_fixed() -> None:
    frame = runs({"member": "m2"}, {"member": "m1", "pour_no": 2}, {"member": "m1", "pour_no": 1})
    assert public_runs(frame).select("member", "pour_no").rows() == [("m1", 1), ("m1", 2), ("m2", 1)]
    assert public_runs(frame.reverse()).equals(public_runs(frame))

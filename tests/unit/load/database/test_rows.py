"""The hash by which a receipt's rows are known."""

from __future__ import annotations

from datetime import date
from typing import Any

import polars as pl
import pytest

from pipeline.load.database import version_0_1_0
from pipeline.load.database.rows import hash_by_receipt

PLAIN: dict[str, Any] = {
    "receipt": 7,
    "text": "fen",
    "number": 1.5,
    "whole": 3,
    "day": date(2026, 3, 1),
    "flag": True,
}
SCHEMA = {
    "receipt": pl.Int64,
    "text": pl.String,
    "number": pl.Float64,
    "whole": pl.Int64,
    "day": pl.Date,
    "flag": pl.Boolean,
}


def rows(*changes: dict[str, Any]) -> pl.DataFrame:
    return pl.DataFrame([PLAIN | change for change in changes], schema=SCHEMA)


def test_each_receipt_has_its_own_hash_whatever_stands_around_it() -> None:
    alone = hash_by_receipt(rows({}, {"text": "bog"}))[7]
    among = hash_by_receipt(rows({"receipt": 1, "text": "é"}, {}, {"text": "bog"}, {"receipt": 9}))
    assert among[7] == alone
    assert set(among) == {1, 7, 9}


def test_the_receipts_number_is_left_out() -> None:
    assert hash_by_receipt(rows({}))[7] == hash_by_receipt(rows({"receipt": 8}))[8]


@pytest.mark.parametrize(
    "change",
    [
        {"text": "fed"},
        {"text": ""},
        {"text": None},
        {"number": 1.5000000000000002},
        {"number": None},
        {"number": 0.0},
        {"whole": 4},
        {"whole": None},
        {"day": date(2026, 3, 2)},
        {"flag": False},
        {"flag": None},
    ],
    ids=str,
)
def test_any_other_value_is_another_hash(change: dict[str, Any]) -> None:
    assert hash_by_receipt(rows(change))[7] != hash_by_receipt(rows({}))[7]


@pytest.mark.parametrize(("name", "zero"), [("text", ""), ("number", 0.0), ("whole", 0), ("flag", False)])
def test_blank_is_not_nothing(name: str, zero: Any) -> None:
    assert hash_by_receipt(rows({name: zero}))[7] != hash_by_receipt(rows({name: None}))[7]


def test_texts_can_not_run_into_each_other() -> None:
    assert hash_by_receipt(rows({"text": "ab"}, {"text": "c"})) != hash_by_receipt(
        rows({"text": "a"}, {"text": "bc"})
    )


def test_order_counts_and_slices_do_not() -> None:
    two = rows({"text": "a"}, {"text": "b"})
    assert hash_by_receipt(two) != hash_by_receipt(two.reverse())
    assert hash_by_receipt(rows({"receipt": 1}, {"text": "a"}, {"text": "b"})[1:]) == hash_by_receipt(two)


def test_a_column_that_holds_nothing_changes_no_hash() -> None:
    wider = rows({}, {"text": "b"}).with_columns(pl.lit(None, pl.Float64).alias("a_new_column"))
    assert hash_by_receipt(wider) == hash_by_receipt(rows({}, {"text": "b"}))
    filled = wider.with_columns(pl.lit(0.0).alias("a_new_column"))
    assert hash_by_receipt(filled) != hash_by_receipt(wider)


def test_the_order_of_columns_does_not_matter() -> None:
    turned = rows({}).select("receipt", *reversed(list(SCHEMA)[1:]))
    assert hash_by_receipt(turned) == hash_by_receipt(rows({}))


def test_the_hash_of_0_1_0_stays_as_it_was() -> None:
    old = version_0_1_0.hash_by_receipt(rows({}))[7]
    assert old == "2ff0b3912925df3e32d3156caaea1bb9a94f9e018af2324073233c2d0f5008b4"


def test_the_hash_is_the_same_on_every_machine() -> None:
    # pinned: a change here breaks every journal written so far
    assert hash_by_receipt(rows({}))[7] == "0060cd71caf1aebcf4d19c6c3b20061ea51403ae3913bf4ca6c172bbdc21bc49"


def test_no_rows_no_hashes() -> None:
    assert hash_by_receipt(rows()) == {}

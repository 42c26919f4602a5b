"""What a kept column is in a frame and in the store: one row per frame type."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from schemas.column import FrameType


@dataclass(frozen=True)
class StoredAs:
    """The polars type and the SQL type of one frame type."""

    polars: pl.DataType
    sql: str


STORED_AS: dict[FrameType, StoredAs] = {
    "text": StoredAs(pl.String(), "VARCHAR"),
    "date": StoredAs(pl.Date(), "DATE"),
    "number": StoredAs(pl.Float64(), "DOUBLE"),
    "whole": StoredAs(pl.Int64(), "BIGINT"),
    "flag": StoredAs(pl.Boolean(), "BOOLEAN"),
}


def polars_type(frame: FrameType) -> pl.DataType:
    """The polars type of a kept column."""
    return STORED_AS[frame].polars


def sql_type(frame: FrameType) -> str:
    """The SQL type of a kept column."""
    return STORED_AS[frame].sql

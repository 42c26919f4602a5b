"""From a checked batch to the rows of the store, and the hash by which those rows are known for good."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.load.journal import Line, canonical, moment_of
from pipeline.load.records import CheckedSheets
from schemas.frame_types import polars_type
from schemas.store import STORED_RUN_COLUMNS

RUN_SCHEMA: dict[str, pl.DataType] = {
    "receipt": pl.Int64(),
    **{column.name: polars_type(column.frame) for column in STORED_RUN_COLUMNS},
}
HELD_SCHEMA: dict[str, type[pl.DataType]] = {
    "receipt": pl.Int64,
    "sheet_row": pl.Int64,
    "reasons": pl.String,
    "waits": pl.Boolean,
    "cells": pl.String,
    "message": pl.String,
}


def runs_to_store(checked: CheckedSheets, receipts: Mapping[int, int]) -> pl.DataFrame:
    """Accepted rows of the files in `receipts` (file_id -> receipt), in the store's columns and order."""
    return (
        _numbered(checked.accepted, receipts)
        .select([pl.col(name).cast(kind) for name, kind in RUN_SCHEMA.items()])
        .sort("receipt", "sheet_row")
    )


def held_to_store(checked: CheckedSheets, receipts: Mapping[int, int]) -> pl.DataFrame:
    """Held rows of the files in `receipts`. `waits`: some problem of level held stands behind the row, so
    somebody has to mend it (a dropped repeat needs nobody). A file that is held whole and shows no rows gets
    one line with sheet_row null."""
    numbered = _numbered(checked.held, receipts)
    held = numbered.select(
        "receipt",
        pl.col("sheet_row").cast(pl.Int64),
        (pl.lit('["') + pl.col("reasons").list.sort().list.join('","') + pl.lit('"]')).alias("reasons"),
        _filled("cells", numbered["cells"]),
    )
    problems = _numbered(checked.problems, receipts).filter(pl.col("level") == "held")
    said = problems.select(
        "receipt",
        pl.col("row").cast(pl.Int64).alias("sheet_row"),
        pl.col("rule"),
        (pl.col("message") + " " + pl.col("fix").fill_null("")).str.strip_chars().alias("message"),
    )
    by_row = (
        said.drop_nulls("sheet_row")
        .group_by("receipt", "sheet_row")
        .agg(pl.col("message").unique(maintain_order=True).str.join(" "))
    )
    by_file = (
        said.filter(pl.col("sheet_row").is_null())
        .group_by("receipt", maintain_order=True)
        .agg(pl.col("message").str.join(" ").alias("file_message"), pl.col("rule").unique().sort())
    )
    rows = held.join(by_row, on=["receipt", "sheet_row"], how="left").join(by_file, on="receipt", how="left")
    rows = rows.with_columns(pl.coalesce("message", "file_message").alias("message"))
    rowless = by_file.join(held.select("receipt").unique(), on="receipt", how="anti").select(
        "receipt",
        pl.lit(None, pl.Int64).alias("sheet_row"),
        (pl.lit('["') + pl.col("rule").list.join('","') + pl.lit('"]')).alias("reasons"),
        pl.lit("{}").alias("cells"),
        pl.col("file_message").alias("message"),
    )
    kept = ["receipt", "sheet_row", "reasons", "cells", "message"]
    return (
        pl.concat([rows.select(kept), rowless.select(kept)])
        .with_columns(pl.col("message").is_not_null().alias("waits"), pl.col("message").fill_null(""))
        .select([pl.col(name).cast(kind) for name, kind in HELD_SCHEMA.items()])
        .sort("receipt", "sheet_row")
    )


def _filled(name: str, cells: pl.Series) -> pl.Series:
    """Cells without the blank ones: which blank columns a check lists depends on the files beside this one."""
    texts = [
        canonical({column: cell for column, cell in json.loads(text).items() if cell is not None})
        for text in cells.to_list()
    ]
    return pl.Series(name, texts, dtype=pl.String)


def _numbered(frame: pl.DataFrame, receipts: Mapping[int, int]) -> pl.DataFrame:
    """The frame's rows whose file is in `receipts`, with the receipt beside them."""
    table = pl.DataFrame(
        {"file_id": list(receipts.keys()), "receipt": list(receipts.values())},
        schema={"file_id": frame.schema.get("file_id", pl.UInt32), "receipt": pl.Int64},
    )
    return frame.join(table, on="file_id", how="inner")


def hash_by_receipt(rows: pl.DataFrame) -> dict[int, str]:
    """SHA-256 of each receipt's rows (receipt -> hex); rows sorted by receipt, then as they stand.

    Made from the values themselves, not from any library's way of printing them: column by column, blanks as
    their own mark, numbers little-endian, texts as their lengths and UTF-8 bytes. The receipt's number is left
    out, so the same rows have the same hash in every pool.
    """
    if rows.is_empty():
        return {}
    fixed: list[tuple[memoryview, int]] = []
    texts: list[tuple[NDArray[np.int64], memoryview]] = []
    for name in rows.columns[1:]:
        column = rows[name]
        fixed.append(_bytes(column.is_null().to_numpy(), "u1"))
        if column.dtype == pl.String:
            lengths = column.str.len_bytes().fill_null(0).to_numpy()
            fixed.append(_bytes(lengths, "<u4"))
            texts.append((np.concatenate([[0], np.cumsum(lengths, dtype=np.int64)]), _utf8(column)))
        elif column.dtype == pl.Float64:
            # adding 0 makes one zero of 0 and -0
            fixed.append(_bytes(column.fill_null(0.0).to_numpy() + 0.0, "<f8"))
        elif column.dtype == pl.Boolean:
            fixed.append(_bytes(column.fill_null(False).to_numpy(), "u1"))
        else:
            fixed.append(_bytes(column.to_physical().cast(pl.Int64).fill_null(0).to_numpy(), "<i8"))
    receipts = rows["receipt"].to_numpy()
    starts = np.flatnonzero(np.concatenate([[True], receipts[1:] != receipts[:-1]]))
    ends = np.concatenate([starts[1:], [len(receipts)]])
    hashes: dict[int, str] = {}
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        parts = [content[start * width : end * width] for content, width in fixed]
        parts += [content[offsets[start] : offsets[end]] for offsets, content in texts]
        hashes[int(receipts[start])] = hashlib.sha256(b"".join(parts)).hexdigest()
    return hashes


def _bytes(values: NDArray[Any], kind: str) -> tuple[memoryview, int]:
    """The values as bytes of one kind, and how many bytes each takes."""
    array = np.ascontiguousarray(values, dtype=kind)
    return memoryview(array.view("u1").data), array.itemsize


def _utf8(column: pl.Series) -> memoryview:
    """All texts of a column behind one another, blanks as nothing."""
    import pyarrow

    array = column.fill_null("").rechunk().to_arrow().cast(pyarrow.large_string())
    if isinstance(array, pyarrow.ChunkedArray):
        array = array.combine_chunks()
    _, offsets, content = array.buffers()
    first, last = np.frombuffer(offsets, "<i8")[[array.offset, array.offset + len(array)]].tolist()
    return memoryview(content)[first:last] if content is not None else memoryview(b"")


def receipt_rows(
    lines: Sequence[Line], erased: Mapping[int, Mapping[str, Any]] | None = None
) -> pl.DataFrame:
    """Rows for the table of receipts from their journal lines; of erased receipts, what is left of them."""
    left = erased or {}
    values: list[dict[str, Any]] = [
        {
            "receipt": line.n,
            "submission": line.payload["submission"],
            "file": None if line.private is None else line.private.get("file"),
            "received": moment_of(line.payload["received"]).replace(tzinfo=None),
            **{
                name: {**line.payload, **left.get(line.n, {})}[name]
                for name in ("rows", "accepted", "held", "readable", "whole_series")
            },
        }
        for line in lines
    ]
    return pl.DataFrame(
        values,
        schema={
            "receipt": pl.Int64,
            "submission": pl.String,
            "file": pl.String,
            "received": pl.Datetime("us"),
            "rows": pl.Int64,
            "accepted": pl.Int64,
            "held": pl.Int64,
            "readable": pl.Boolean,
            "whole_series": pl.Boolean,
        },
    )

"""From a checked batch to the rows of the store, and the hash by which those rows are known for good."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.load.truth.journal import canonical
from pipeline.load.truth.receipts import Receipt
from pipeline.load.truth.records import CheckedSheets
from schemas.frame_types import polars_type
from schemas.kinds.kind import SheetKind
from schemas.store import stored_columns
from schemas.trade.labels import label_key

KEYS = ("member_key", "series_key")
EMPTY_HASH = "none"

HELD_SCHEMA: dict[str, pl.DataType] = {
    "receipt": pl.Int64(),
    "sheet_row": pl.Int64(),
    "reasons": pl.String(),
    "waits": pl.Boolean(),
    "cells": pl.String(),
    "message": pl.String(),
}


def row_schema(kind: SheetKind) -> dict[str, pl.DataType]:
    """The columns of the store's table for the accepted rows of a kind of sheet."""
    return {
        "receipt": pl.Int64(),
        **{column.name: polars_type(column.frame) for column in stored_columns(kind)},
    }


def accepted_to_store(checked: CheckedSheets, receipts: Mapping[int, int], kind: SheetKind) -> pl.DataFrame:
    """Accepted rows of the files in `receipts` (file_id -> receipt) that are sheets of this kind, in the store's
    columns and order."""
    return (
        _numbered(checked.accepted_of(kind), receipts)
        .select([pl.col(name).cast(frame_type) for name, frame_type in row_schema(kind).items()])
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


def row_hashes(rows: pl.DataFrame, held: pl.DataFrame, receipts: Sequence[int]) -> dict[int, dict[str, str]]:
    """For each receipt the hashes that the journal keeps: of its accepted and of its held rows. Keys of labels are
    left out, since they are made from the labels; so is the wording of messages, which may be bettered."""
    accepted, waiting = hash_of_accepted(rows), hash_of_held(held)
    return {
        number: {
            "rows_sha256": accepted.get(number, EMPTY_HASH),
            "held_sha256": waiting.get(number, EMPTY_HASH),
        }
        for number in receipts
    }


def hash_of_accepted(rows: pl.DataFrame) -> dict[int, str]:
    """The hash of each receipt's accepted rows."""
    return hash_by_receipt(rows.drop(*KEYS, strict=False))


def hash_of_held(rows: pl.DataFrame) -> dict[int, str]:
    """The hash of each receipt's held rows."""
    return hash_by_receipt(rows.drop("message")) if rows.height else {}


def hash_by_receipt(rows: pl.DataFrame) -> dict[int, str]:
    """SHA-256 of each receipt's rows (receipt -> hex); rows sorted by receipt, then as they stand.

    Made from the values themselves, not from any library's way of printing them: the filled columns in order of
    name, each with its name, its blanks and its values. A column in which a receipt has nothing is left out, so a
    column that comes later changes no older hash. The receipt's number is left out, so the same rows have the same
    hash in every pool.
    """
    columns = sorted(column_bytes(rows), key=lambda column: column.name)
    return {
        receipt: hashlib.sha256(b"".join(_named(columns, start, end))).hexdigest()
        for receipt, start, end in stretches(rows)
    }


def _named(columns: Sequence[ColumnBytes], start: int, end: int) -> Iterator[bytes | memoryview]:
    for column in columns:
        if column.filled[end] > column.filled[start]:
            yield f"{column.name}\0".encode()
            yield from column.fixed_part(start, end)
            yield column.text_part(start, end)


@dataclass(frozen=True)
class ColumnBytes:
    """One column of rows as bytes. `filled`: how many of the rows before each position hold a value. `fixed`: parts
    of so many bytes a row. `texts`: where the text of each row begins, and all texts behind one another."""

    name: str
    filled: NDArray[np.int64]
    fixed: tuple[tuple[memoryview, int], ...]
    texts: tuple[NDArray[np.int64], memoryview] | None = None

    def fixed_part(self, start: int, end: int) -> list[memoryview]:
        """Blanks and values (or the lengths of texts) of the rows from start to end."""
        return [content[start * width : end * width] for content, width in self.fixed]

    def text_part(self, start: int, end: int) -> memoryview:
        """The texts of the rows from start to end; nothing for other columns."""
        if self.texts is None:
            return memoryview(b"")
        offsets, content = self.texts
        return content[offsets[start] : offsets[end]]


def column_bytes(rows: pl.DataFrame) -> list[ColumnBytes]:
    """Every column of the rows but the receipt, in the order of the frame: blanks as a mark of their own, numbers
    little-endian, texts as their lengths and UTF-8 bytes."""
    return [_column(rows[name]) for name in rows.columns if name != "receipt"]


def _column(column: pl.Series) -> ColumnBytes:
    blank = column.is_null().to_numpy()
    filled = np.concatenate([[0], np.cumsum(~blank, dtype=np.int64)])
    blanks = _bytes(blank, "u1")
    if column.dtype == pl.String:
        lengths = column.str.len_bytes().fill_null(0).to_numpy()
        offsets = np.concatenate([[0], np.cumsum(lengths, dtype=np.int64)])
        return ColumnBytes(column.name, filled, (blanks, _bytes(lengths, "<u4")), (offsets, _utf8(column)))
    if column.dtype == pl.Float64:
        # adding 0 makes one zero of 0 and -0
        values = _bytes(column.fill_null(0.0).to_numpy() + 0.0, "<f8")
    elif column.dtype == pl.Boolean:
        values = _bytes(column.fill_null(False).to_numpy(), "u1")
    else:
        values = _bytes(column.to_physical().cast(pl.Int64).fill_null(0).to_numpy(), "<i8")
    return ColumnBytes(column.name, filled, (blanks, values))


def stretches(rows: pl.DataFrame) -> Iterator[tuple[int, int, int]]:
    """(receipt, first row, row after the last) of rows sorted by receipt."""
    receipts = rows["receipt"].to_numpy()
    if not len(receipts):
        return
    starts = np.flatnonzero(np.concatenate([[True], receipts[1:] != receipts[:-1]])).tolist()
    for start, end in zip(starts, [*starts[1:], len(receipts)], strict=True):
        yield int(receipts[start]), start, end


def with_label_keys(rows: pl.DataFrame, key_of: Callable[[str], str] = label_key) -> pl.DataFrame:
    """The rows with the keys of their labels made (again) from the labels."""
    for key in KEYS:
        spelled = rows[key.removesuffix("_key")]
        keys = {text: key_of(text) for text in spelled.drop_nulls().unique()}
        made = [None if text is None else keys[text] for text in spelled]
        rows = rows.with_columns(pl.Series(key, made, dtype=pl.String))
    return rows


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


def receipt_rows(receipts: Iterable[Receipt]) -> pl.DataFrame:
    """Rows for the table of receipts; of erased receipts, what is left of them."""
    return pl.DataFrame(
        [
            (
                receipt.number,
                receipt.kind,
                receipt.submission,
                receipt.file,
                receipt.received.replace(tzinfo=None),
                receipt.rows,
                receipt.accepted,
                receipt.held,
                receipt.readable,
                receipt.whole_series,
            )
            for receipt in receipts
        ],
        schema={
            "receipt": pl.Int64,
            "kind": pl.String,
            "submission": pl.String,
            "file": pl.String,
            "received": pl.Datetime("us"),
            "rows": pl.Int64,
            "accepted": pl.Int64,
            "held": pl.Int64,
            "readable": pl.Boolean,
            "whole_series": pl.Boolean,
        },
        orient="row",
    )

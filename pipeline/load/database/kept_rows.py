"""Rows as they were read: the accepted and held rows of the sheets of one load, kept beside their bytes.

One file holds the rows of all sheets of one kind of a load, `archive/ab/abcd….rows.parquet` under its own SHA-256, which the
journal names. The store is made from these files and never from sheets read anew: rules of reading may change.
Keys of labels are not kept; they are made from the labels.
"""

from __future__ import annotations

from collections.abc import Collection
from io import BytesIO
from pathlib import Path

import polars as pl

from pipeline.errors import DrainpoolError
from pipeline.load.database.rows import HELD_SCHEMA, KEYS, row_schema, with_label_keys
from pipeline.load.truth import archive
from schemas.kinds.kind import SheetKind

ENDING = ".rows.parquet"
ACCEPTED = "accepted"
"""The column that tells an accepted row from a held one."""


def as_bytes(accepted: pl.DataFrame, held: pl.DataFrame) -> bytes | None:
    """The file of these rows, filled columns only; None where there are no rows."""
    if accepted.is_empty() and held.is_empty():
        return None
    rows = pl.concat(
        [
            accepted.drop(*KEYS, strict=False).with_columns(pl.lit(True).alias(ACCEPTED)),
            held.cast(pl.Schema(HELD_SCHEMA)).with_columns(pl.lit(False).alias(ACCEPTED)),
        ],
        how="diagonal",
    )
    filled = [name for name in rows.columns if rows[name].null_count() < rows.height]
    file = BytesIO()
    rows.select(filled).write_parquet(file, compression="zstd", statistics=False)
    return file.getvalue()


def place(pool: Path, digest: str) -> Path:
    """Where the rows of this hash lie."""
    return archive.place(pool, digest, ENDING)


def recall(
    pool: Path, digest: str, kind: SheetKind, receipts: Collection[int] | None = None
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The accepted and the held rows of a file of sheets of that kind, in the store's columns, of these receipts or of all.
    Raises DrainpoolError where the file is missing or was changed."""
    path = place(pool, digest)
    content = path.read_bytes() if path.exists() else b""
    if archive.submission_of(content) != digest:
        raise DrainpoolError(
            f"The kept rows {path} are missing or damaged. The store was left as it was. Restore that file from a "
            f"backup, then type the command again; drainpool verify --pool {pool} names everything that is damaged."
        )
    rows = pl.read_parquet(BytesIO(content))
    if receipts is not None:
        rows = rows.filter(pl.col("receipt").is_in(list(receipts)))
    schema = row_schema(kind)
    accepted = with_label_keys(_shaped(rows.filter(ACCEPTED), schema))
    return accepted.select(list(schema)), _shaped(rows.filter(~pl.col(ACCEPTED)), HELD_SCHEMA)


def _shaped(rows: pl.DataFrame, schema: dict[str, pl.DataType]) -> pl.DataFrame:
    """The rows in the store's columns; those that the file does not have are blank."""
    absent = [pl.lit(None, kind).alias(name) for name, kind in schema.items() if name not in rows.columns]
    return rows.with_columns(absent).select([pl.col(name).cast(kind) for name, kind in schema.items()])

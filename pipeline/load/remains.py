"""What is left of a sheet that named several members after one of them was erased: the others' rows.

The sheet's bytes are gone, so the others' rows can't be read again; they are kept as they were read, in
`archive/ab/<hash of the sheet>.<receipt>.remains.json`, under a hash that the journal's "erased" line holds.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.load import archive, store
from pipeline.load.journal import Line, canonical, digest
from pipeline.load.rows import HELD_SCHEMA, RUN_SCHEMA

ENDING = ".remains.json"


def place(pool: Path, submission: str, receipt: int) -> Path:
    """Where the remains of a receipt lie."""
    return archive.place(pool, submission, f".{receipt}{ENDING}")


def keep(pool: Path, submission: str, receipt: int, runs: pl.DataFrame, held: pl.DataFrame) -> str | None:
    """Writes down the rows that stay of a sheet; answers the file's hash, None where nothing stays."""
    if runs.is_empty() and held.is_empty():
        return None
    rows = runs.with_columns(pl.col("tested_on").cast(pl.String)).rows()
    text = canonical({"runs": [row[1:] for row in rows], "held": [row[1:] for row in held.rows()]})
    target = place(pool, submission, receipt)
    target.parent.mkdir(parents=True, exist_ok=True)
    temporary = target.with_name(target.name + archive.TEMPORARY)
    with temporary.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    temporary.replace(target)
    return digest(text)


def recall(pool: Path, submission: str, receipt: int) -> tuple[pl.DataFrame, pl.DataFrame, str]:
    """The kept runs and held rows of a receipt, and the hash of the file they stand in."""
    text = place(pool, submission, receipt).read_text(encoding="utf-8")
    kept = json.loads(text)
    days = list(RUN_SCHEMA).index("tested_on") - 1
    runs = [
        [receipt, *(date.fromisoformat(cell) if at == days else cell for at, cell in enumerate(row))]
        for row in kept["runs"]
    ]
    held = [[receipt, *row] for row in kept["held"]]
    return (
        pl.DataFrame(runs, schema=RUN_SCHEMA, orient="row"),
        pl.DataFrame(held, schema=HELD_SCHEMA, orient="row"),
        digest(text),
    )


def put_back(connection: store.Connection, pool: Path, line: Line, kept: Mapping[str, Any]) -> None:
    """Inserts what is left of an erased receipt into the store."""
    if kept["remains"] is None:
        return
    runs, held, _ = recall(pool, line.payload["submission"], line.n)
    store.insert(connection, "runs", runs)
    store.insert(connection, "held", held)

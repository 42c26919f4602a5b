"""What drainpool 0.1.0 wrote into a pool and this version writes otherwise: hashes of rows, keys of labels, and what it
kept of an erased sheet. Read once, when such a pool is first opened; nothing here may change."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import polars as pl

from pipeline.load.database.rows import (
    EMPTY_HASH,
    HELD_SCHEMA,
    column_bytes,
    row_schema,
    stretches,
    with_label_keys,
)
from pipeline.load.truth import archive
from pipeline.load.truth.receipts import Receipt
from schemas.kinds.registry import kind_named
from schemas.kinds.run import RUN

RUN_COLUMNS = (
    "receipt",
    "member",
    "series",
    "member_key",
    "series_key",
    "tested_on",
    "climate_zone",
    "setup_type",
    "pot_volume_ml",
    "pot_volume_computed",
    "base",
    "component",
    "component_grade",
    "component_share",
    "pot_no",
    "pour_no",
    "poured_ml",
    "collected_ml",
    "drain_time_s",
    "ended",
    "water_temp_c",
    "pot_top_diameter_cm",
    "pot_base_diameter_cm",
    "fill_depth_cm",
    "hardiness_zone",
    "growing_place",
    "pre_wetted",
    "start_moisture",
    "sieved",
    "component_min_size_mm",
    "component_max_size_mm",
    "drain_holes",
    "hole_size_mm",
    "hole_cover",
    "came_out_ml",
    "pour_time_s",
    "rest_before_h",
    "taps",
    "measured_by",
    "peat_type",
    "top_layer",
    "planted",
    "club",
    "round",
    "peat_lot",
    "component_lot",
    "mix_age_days",
    "run_order",
    "notes",
    "sheet_row",
    "part_marked",
    "unlike_pour",
)
"""The table `runs` in its order, which the hash of rows depends on."""
HELD_COLUMNS = ("receipt", "sheet_row", "reasons", "waits", "cells")
_INVISIBLE = dict.fromkeys(
    [
        0xAD,
        0x180E,
        0xFEFF,
        *range(0x200B, 0x2010),
        *range(0x202A, 0x202F),
        *range(0x2060, 0x2065),
        *range(0x2066, 0x206A),
    ]
)


def label_key(text: str) -> str:
    """A label as 0.1.0 compared it: letter case, runs of spaces and some invisible characters evened out."""
    return re.sub(r"\s+", " ", text.translate(_INVISIBLE)).strip().casefold()


def row_hashes(runs: pl.DataFrame, held: pl.DataFrame, receipts: Sequence[int]) -> dict[int, tuple[str, str]]:
    """For each receipt the hashes of its accepted and of its held rows as 0.1.0 made them, column by column."""
    accepted = hash_by_receipt(
        with_label_keys(runs, label_key).select(RUN_COLUMNS).sort("receipt", "sheet_row")
    )
    waiting = hash_by_receipt(held.select(HELD_COLUMNS).sort("receipt", "sheet_row"))
    return {n: (accepted.get(n, EMPTY_HASH), waiting.get(n, EMPTY_HASH)) for n in receipts}


def hash_by_receipt(rows: pl.DataFrame) -> dict[int, str]:
    """SHA-256 of each receipt's rows, of every column in the frame's order."""
    columns = column_bytes(rows)
    hashes = {}
    for receipt, start, end in stretches(rows):
        parts = [part for column in columns for part in column.fixed_part(start, end)]
        parts += [column.text_part(start, end) for column in columns]
        hashes[receipt] = hashlib.sha256(b"".join(parts)).hexdigest()
    return hashes


def remains_place(pool: Path, receipt: Receipt) -> Path:
    """Where 0.1.0 kept the other members' rows of an erased sheet."""
    return archive.place(pool, receipt.submission, f".{receipt.number}.remains.json")


def remains(pool: Path, receipt: Receipt) -> tuple[pl.DataFrame, pl.DataFrame] | None:
    """What is left of an erased sheet, in today's columns; None where the file is not the one that was written."""
    path = remains_place(pool, receipt)
    content = path.read_bytes() if path.exists() else b""
    if hashlib.sha256(content).hexdigest() != receipt.remains:
        return None
    kept = json.loads(content)
    names = [name for name in RUN_COLUMNS if name != "receipt"]
    runs = [
        {
            **dict(zip(names, row, strict=True)),
            "receipt": receipt.number,
            "tested_on": date.fromisoformat(row[names.index("tested_on")]),
        }
        for row in kept["runs"]
    ]
    held_names = [*HELD_COLUMNS[1:], "message"]
    held = [{**dict(zip(held_names, row, strict=True)), "receipt": receipt.number} for row in kept["held"]]
    return pl.DataFrame(runs, schema=row_schema(kind_named(RUN.name))), pl.DataFrame(held, schema=HELD_SCHEMA)

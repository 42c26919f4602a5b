"""Which runs stand set aside at a cutoff, and the public kind of reason for each."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from pipeline.load.database import store
from pipeline.load.truth.records import Cutoff
from pipeline.load.views.reading import receipts_frame
from pipeline.load.views.status import key_columns, known_lines, touches, with_status
from schemas.kinds.registry import kind_named
from schemas.kinds.run import RUN
from schemas.trade.public_reasons import public_words


def set_aside_by_reason(pool: Path, cutoff: Cutoff) -> pl.DataFrame:
    """reason (public words), runs: how many runs of the cutoff are set aside and not kept again, most first."""
    kind = kind_named(RUN.name)
    with store.reading(pool) as connection:
        lines = known_lines(store.lines_of(connection), cutoff)
        receipts = receipts_frame(connection)
        runs = store.frame(connection, f"SELECT {', '.join(key_columns(kind))} FROM runs")  # noqa: S608 our own names
    aside = with_status(runs, receipts, lines, cutoff, kind).filter(pl.col("status") == "set aside")
    aside = aside.with_columns(pl.lit("").alias("reason"))
    for line in lines:
        if line.event == "set_aside":
            touched = touches(line.payload, line.private, receipts) & (pl.col("receipt") < line.n)
            words = pl.lit(public_words(line.payload.get("why")))
            aside = aside.with_columns(pl.when(touched).then(words).otherwise("reason").alias("reason"))
    return (
        aside.group_by("reason")
        .agg(pl.len().cast(pl.Int64).alias("runs"))
        .sort("runs", "reason", descending=[True, False])
    )

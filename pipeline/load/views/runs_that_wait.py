"""Accepted runs that wait for an answer: in the pool, counted in no figure until they are kept, mended or set aside.

Worked out anew for every cutoff from the runs in force there and the decisions known there; nothing of it is written
down, so a rebuilt pool and an edition made again give the same. The rules: `schemas.trade.waiting.far_off`, `equal_series`.
"""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from pipeline.load.truth.journal import Line
from pipeline.load.truth.records import EVERYTHING, Cutoff
from pipeline.load.views.status import key_columns, with_status
from schemas.kinds.kind import SheetKind
from schemas.kinds.run import RUN
from schemas.rules.waits import RUN_WAITS, SERIES_WAITS
from schemas.trade.waiting.equal_series import equal_series
from schemas.trade.waiting.far_off import FAR_OFF, far_off

IN_FORCE, WAITS = "in force", "waits"
ASKED = {name: frame for name, frame in FAR_OFF.items() if name != "row"}
WAITING = {"rule": pl.String, **ASKED, "earlier_member": pl.String, "earlier_series": pl.String}
"""What is asked of a waiting run. rule: `run_waits`, with the columns of `far_off`; or `series_waits`, with the earlier
series that it equals."""
QUESTIONS = {"place": pl.UInt32, **WAITING}
ASKED_COLUMNS = (
    *(
        "member",
        "series",
        "member_key",
        "series_key",
        "component",
        "base",
        "component_share",
        "pot_no",
        "pour_no",
    ),
    *(
        "ended",
        "start_moisture",
        "pre_wetted",
        "pot_volume_ml",
        "pot_top_diameter_cm",
        "pot_base_diameter_cm",
    ),
    *("poured_ml", "collected_ml", "came_out_ml", "water_temp_c", "drain_time_s", "sheet_row"),
)
"""The columns of a run that decide whether it waits."""


def standing(
    stored: pl.DataFrame, receipts: pl.DataFrame, lines: Sequence[Line], cutoff: Cutoff, kind: SheetKind
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The stored rows of one kind at a cutoff, each with its status (`waits` among them), rank and `place` in `stored`;
    and for those that wait `QUESTIONS`."""
    slim = stored.select(key_columns(kind)).with_row_index("place")
    stood = with_status(slim, receipts, lines, cutoff, kind)
    if kind.name != RUN.name:
        return stood, pl.DataFrame(schema=QUESTIONS)
    questions = _questions(stored, stood)
    status = pl.when(pl.col("place").is_in(questions["place"].implode())).then(pl.lit(WAITS))
    return stood.with_columns(status.otherwise("status").alias("status")), questions


def waiting_runs(
    stored: pl.DataFrame, questions: pl.DataFrame, receipts: pl.DataFrame, kind: SheetKind
) -> pl.DataFrame:
    """The runs that wait, in those canonical columns that are stored, with `received` and what is asked (`WAITING`), by
    member, series and place in it."""
    rows = stored[questions["place"].to_list()].hstack(questions.drop("place").get_columns())
    rows = rows.join(receipts.select("receipt", "submission", "received"), on="receipt", how="left")
    known = [name for name in kind.kept_names if name in rows.columns]
    names = list(dict.fromkeys([*known, "received", *WAITING]))
    return rows.select(names).sort([*kind.run_keys, "submission", "sheet_row"])


def waiting_in(
    stored: pl.DataFrame, receipts: pl.DataFrame, lines: Sequence[Line], kind: SheetKind
) -> pl.DataFrame:
    """The runs that wait among these rows, with everything known; as `waiting_runs` gives them."""
    _, questions = standing(stored, receipts, lines, EVERYTHING, kind)
    return waiting_runs(stored, questions, receipts, kind)


def _questions(stored: pl.DataFrame, stood: pl.DataFrame) -> pl.DataFrame:
    """`QUESTIONS` of the runs in force that nobody kept."""
    alive = stood.filter(pl.col("status") == IN_FORCE).select("place", "rank", "kept").sort("place")
    runs = stored[alive["place"].to_list()].hstack([alive["rank"]])
    far = far_off(runs).drop_nulls("factor").with_columns(rule=pl.lit(RUN_WAITS))
    equal = equal_series(runs, "rank").with_columns(rule=pl.lit(SERIES_WAITS))
    asked = pl.concat([equal, far.join(equal, on="row", how="anti")], how="diagonal")
    places = alive.select(pl.int_range(pl.len(), dtype=pl.Int64).alias("row"), "place", "kept")
    questions = asked.join(places, on="row").filter(~pl.col("kept")).sort("place")
    return questions.select(
        (pl.col(name) if name in questions.columns else pl.lit(None)).cast(frame).alias(name)
        for name, frame in QUESTIONS.items()
    )

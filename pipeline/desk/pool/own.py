"""A member's own part of the pool, as values for their page and as a file to take along."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

import polars as pl

from reports.words import percent, quantity
from schemas.formula_guards import guarded
from schemas.kinds.run import RUN
from schemas.trade.labels import label_key, same_label
from schemas.trade.small_numbers import too_few_to_show

Point = tuple[float, float]
"""A share in percent, and how many times as fast as the same grower's straight base."""


@dataclass(frozen=True)
class OwnSeries:
    """One own series in force. `shares` and `pot` in words (`0 %, 25 %`; `1.0 l`), `runs` its number of pours,
    `tested_on` the last day."""

    series: str
    component: str | None
    grade: str | None
    setup_type: str
    pot: str
    shares: str
    runs: int
    tested_on: date


@dataclass(frozen=True)
class OwnDots:
    """Own tests of one component and grade beside those of others; `growers`: how many others there are. `others`
    is empty below three."""

    component: str
    grade: str
    own: list[Point]
    others: list[Point]
    growers: int


def of_member(frame: pl.DataFrame, code: str) -> pl.DataFrame:
    """The rows of a frame that are this member's; by `member_key`, or by `member` as typed."""
    if frame.is_empty():
        return frame
    if "member_key" in frame.columns:
        return frame.filter(member_key=label_key(code))
    return frame.filter(pl.Series([same_label(member, code) for member in frame["member"]], dtype=pl.Boolean))


def own_series(runs: pl.DataFrame) -> list[OwnSeries]:
    """Each series of a member's runs, newest first."""
    if runs.is_empty():
        return []
    grouped = runs.group_by("series_key", maintain_order=True).agg(
        pl.col("series").first(),
        pl.col("component").drop_nulls().first(),
        pl.col("component_grade").drop_nulls().first().alias("grade"),
        pl.col("setup_type").first(),
        pl.col("pot_volume_ml").median(),
        pl.col("component_share").unique().sort().alias("shares"),
        pl.len().alias("runs"),
        pl.col("tested_on").max(),
    )
    return [
        OwnSeries(
            row["series"],
            row["component"],
            row["grade"],
            row["setup_type"],
            pot=f"{quantity(row['pot_volume_ml'] / 1000)} l",
            shares=", ".join(percent(share) for share in row["shares"]),
            runs=row["runs"],
            tested_on=row["tested_on"],
        )
        for row in grouped.sort("tested_on", "series", descending=[True, False]).iter_rows(named=True)
    ]


def dots(contrasts: pl.DataFrame, code: str) -> list[OwnDots]:
    """Own contrasts beside those of others with the same component and grade, freshly filled pots: one entry
    per component and grade. Others are shown from three growers up, and never by code."""
    every = contrasts.with_columns(pl.col("grade").fill_null("any"))
    mine, theirs = (
        every.filter(member_key=label_key(code)),
        every.filter(pl.col("member_key") != label_key(code)),
    )
    pictures = []
    for key, own in mine.group_by("component", "grade", maintain_order=True):
        like = theirs.filter(component=key[0], grade=key[1])
        growers = like["member_key"].n_unique()
        pictures.append(
            OwnDots(
                str(key[0]),
                str(key[1]),
                _points(own),
                [] if too_few_to_show(growers) else _points(like),
                growers,
            )
        )
    return pictures


def _points(contrasts: pl.DataFrame) -> list[Point]:
    return [
        (row["component_share"], row["ratio"])
        for row in contrasts.sort("component_share", "series").iter_rows(named=True)
    ]


def as_sheet(runs: pl.DataFrame) -> str:
    """Own runs as a run sheet in canonical columns: to mend and send again, or to keep."""
    names = [name for name in RUN.kept_names if name not in RUN.derived_names]
    return _csv(runs.select(names), ())


def everything(runs: pl.DataFrame, held: pl.DataFrame) -> str:
    """All that the pool holds of a member: runs in force with sheet and row, then held rows with their cells as typed."""
    names = [name for name in RUN.kept_names if name not in RUN.derived_names]
    text = _csv(runs.select(*names, "submission", "sheet_row"), ())
    if held.is_empty():
        return text
    rows = held.select("file", "sheet_row", "series", "cells", "message")
    return text + "\r\n" + _csv(rows, ("Held rows, as you typed them",))


def _csv(frame: pl.DataFrame, above: Iterable[str]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    for line in above:
        writer.writerow([line])
    writer.writerow(frame.columns)
    for row in frame.iter_rows():
        writer.writerow([_cell(value) for value in row])
    return out.getvalue()


def _cell(value: Any) -> str:
    """A cell that no spreadsheet runs as a formula."""
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.10g}"
    return guarded(value) if isinstance(value, str) else str(value)

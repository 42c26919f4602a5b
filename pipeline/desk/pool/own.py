"""A member's own part of the pool, as values for their page and as a file to take along."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Any

import polars as pl

from reports.words import percent, two_figures
from schemas.kinds.run import RUN
from schemas.trade.formula_guards import guarded
from schemas.trade.labels import label_key, same_label

FEWEST_OTHERS = 3


def of_member(frame: pl.DataFrame, code: str) -> pl.DataFrame:
    """The rows of a frame that are this member's; by `member_key`, or by `member` as typed."""
    if frame.is_empty():
        return frame
    if "member_key" in frame.columns:
        return frame.filter(member_key=label_key(code))
    return frame.filter(pl.Series([same_label(member, code) for member in frame["member"]], dtype=pl.Boolean))


def series_values(runs: pl.DataFrame) -> list[dict[str, Any]]:
    """Each own series: label, component, shares, pots, runs, days; newest first."""
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
    values = grouped.sort("tested_on", "series", descending=[True, False]).to_dicts()
    for value in values:
        value["shares"] = ", ".join(percent(share) for share in value["shares"])
        value["pot"] = f"{two_figures(value['pot_volume_ml'] / 1000)} l"
    return values


def dots(contrasts: pl.DataFrame, code: str) -> list[dict[str, Any]]:
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
            {
                "component": str(key[0]),
                "grade": str(key[1]),
                "own": _points(own),
                "others": _points(like) if growers >= FEWEST_OTHERS else [],
                "growers": growers,
            }
        )
    return pictures


def _points(contrasts: pl.DataFrame) -> list[tuple[float, float]]:
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

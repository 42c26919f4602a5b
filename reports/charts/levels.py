"""One row per level, one dot per grower: what the pool saw under each condition, before any modelling."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

import polars as pl

from reports.charts.spec import TIMES_LABEL, data, finished, times_ticks
from reports.page import ChartBlock, TableBlock, cell
from reports.theme import token
from reports.words import Compared, between, percent, plain, two_figures

if TYPE_CHECKING:
    import altair as alt

ROW_PX = 40
LABEL_PX = 112


def levels_chart(
    name: str,
    growers: pl.DataFrame,
    averages: pl.DataFrame,
    share: float,
    compared: Compared,
    level_name: str,
    top: float,
) -> ChartBlock | None:
    """Dots of growers per level with their average, on a scale up to `top`; nothing where only one level was tested."""
    import altair as alt

    if averages.height < 2:
        return None
    description = (
        f"{percent(share)} {plain(compared.component)} against {compared.reference}, by {level_name}: "
        + "; ".join(
            f"{plain(row['level'])}: {row['growers']} growers"
            + (
                f", on average {two_figures(row['average'])} times as fast"
                if row["average"] is not None
                else ""
            )
            for row in averages.iter_rows(named=True)
        )
        + "."
    )
    height = ROW_PX * averages.height
    chart = alt.layer(_reference(top), _dots(growers, averages, top), *_averages(averages, top))
    spec = finished(chart, description, height)
    return ChartBlock(name, description, spec, _table(averages, level_name), min_height_px=height)


def levels_top(splits: Iterable[pl.DataFrame]) -> float:
    """One upper end for all splits, so that small pictures beside one another share a scale."""
    largest = max(
        (float(growers["ratio"].to_numpy().max()) for growers in splits if growers.height), default=1.0
    )
    return math.ceil(4 * max(1.6, 1.05 * largest)) / 4


def _x(top: float) -> alt.X:
    import altair as alt

    return alt.X(
        "x:Q",
        title=None,
        scale=alt.Scale(domain=[0, top], nice=False),
        axis=alt.Axis(
            values=[tick for tick in times_ticks(top) if tick == int(tick)],
            labelExpr=TIMES_LABEL,
        ),
    )


def _order(averages: pl.DataFrame) -> list[str]:
    return [plain(level) for level in averages["level"]]


def _y(order: list[str]) -> alt.Y:
    import altair as alt

    return alt.Y(
        "y:N",
        title=None,
        sort=order,
        axis=alt.Axis(
            grid=False, labelLimit=LABEL_PX, minExtent=LABEL_PX, maxExtent=LABEL_PX, labelColor=token("ink")
        ),
    )


def _reference(top: float) -> alt.Chart:
    import altair as alt

    rule: alt.Chart = alt.Chart(data([{"x": 1.0}])).mark_rule(color=token("ink"), strokeWidth=1.2)
    return rule.encode(x=_x(top))


def _dots(growers: pl.DataFrame, averages: pl.DataFrame, top: float) -> alt.Chart:
    import altair as alt

    rows = [{"x": row["ratio"], "y": plain(row["level"])} for row in growers.iter_rows(named=True)]
    dots: alt.Chart = alt.Chart(data(rows)).mark_point(
        color=token("newgrower"), size=60, opacity=0.75, strokeWidth=1.6, filled=False
    )
    return dots.encode(x=_x(top), y=_y(_order(averages)))


def _averages(averages: pl.DataFrame, top: float) -> list[alt.Chart]:
    import altair as alt

    rows = [
        {"x": row["average"], "y": plain(row["level"])}
        for row in averages.iter_rows(named=True)
        if row["average"] is not None
    ]
    if not rows:
        return []
    spans = [
        {"x": max(row["sure_low"], 0.0), "end": min(row["sure_high"], top), "y": plain(row["level"])}
        for row in averages.iter_rows(named=True)
        if row["sure_low"] is not None and row["sure_low"] < top
    ]
    strokes = alt.Chart(data(rows)).encode(x=_x(top), y=_y(_order(averages)))
    drawn: list[alt.Chart] = [strokes.mark_tick(color=token("average"), thickness=4, size=30)]
    if spans:
        bars = alt.Chart(data(spans)).encode(x=_x(top), x2="end:Q", y=_y(_order(averages)))
        drawn.insert(0, bars.mark_bar(color=token("average"), opacity=0.28, height=12))
    return drawn


def _table(averages: pl.DataFrame, level_name: str) -> TableBlock:
    rows = tuple(
        (
            cell(plain(row["level"])),
            cell(two_figures(row["average"]) if row["average"] is not None else "–"),
            cell(between(row["sure_low"], row["sure_high"]) if row["sure_low"] is not None else "–"),
            cell(between(row["low"], row["high"])),
            cell(str(row["growers"])),
            cell(str(row["series"])),
        )
        for row in averages.iter_rows(named=True)
    )
    headings = (
        level_name,
        "on average, times as fast",
        "19 in 20 sure",
        "lowest to highest grower",
        "growers",
        "series",
    )
    return TableBlock(f"By {level_name}", headings, rows, frozenset({1, 4, 5}))

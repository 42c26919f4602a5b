"""The main picture: every grower's series behind, the pooled means, and two bands labelled in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from reports.answer import COVERAGES, Share, Table
from reports.charts.spec import TIMES_LABEL, data, finished, times_ticks
from reports.page import ChartBlock
from reports.tables import shares_table
from reports.theme import token
from reports.words import Compared, between, newcomer, percent, plain, rough, setting_number, two_figures, who

if TYPE_CHECKING:
    import altair as alt

SERIES_DRAWN = 200
WIDEST = 2.0
"""A band is drawn whole up to this many times the average."""
HEIGHT = 290


@dataclass(frozen=True)
class Point:
    """One point of one series' line: the share in percent, and how many times as fast as the series' own baseline.
    Every line starts at share 0, ratio 1."""

    line: int
    share: float
    ratio: float


@dataclass(frozen=True)
class Axes:
    """Both axes, the same for every layer: shares to a little past the largest, times as fast on a linear scale."""

    right: float
    bottom: float
    top: float

    def x(self) -> alt.X:
        """Shares."""
        import altair as alt

        return alt.X(
            "x:Q",
            title="percent of loose volume",
            scale=alt.Scale(domain=[0, self.right], nice=False),
            axis=alt.Axis(labelExpr="datum.value + ' %'", grid=False, tickCount=6, labelFlush=False),
        )

    def y(self) -> alt.Y:
        """Times as fast."""
        import altair as alt

        return alt.Y(
            "y:Q",
            title=None,
            scale=alt.Scale(domain=[self.bottom, self.top], nice=False),
            axis=alt.Axis(values=times_ticks(self.top), labelExpr=TIMES_LABEL),
        )


def curve(
    name: str,
    table: Table,
    effects: pl.DataFrame,
    target: float,
    compared: Compared,
    axes: Axes | None = None,
    height: int = HEIGHT,
) -> ChartBlock | None:
    """The curve of one table of shares; nothing where there is nothing to draw.

    `effects`: member, series, component_share and ratio per series and share, of this table's pots. `axes`:
    given where several curves are set beside each other, from `axes_for` over all of them."""
    import altair as alt

    points = _series_points(effects)
    if not table.known and not points:
        return None
    axes = axes or axes_for([table], effects, target)
    layers = [
        *_bands(table.known, axes),
        *_series(points, axes),
        *_rules(target, axes),
        *_means(table.known, axes),
        *_labels(table, axes),
    ]
    described = _described(table, compared.reference, compared.component)
    chart = alt.layer(*layers)
    return ChartBlock(
        name,
        described,
        finished(chart, described, height),
        shares_table(table, target, compared.reference, compared.component) if table.shares else None,
        caption=_caption(table),
        min_height_px=height,
    )


def _caption(table: Table) -> str:
    average = "Strong line with diamonds: the average over growers. " if table.known else ""
    return f"Thin lines: single series. {average}Between the shares tested the lines only lead the eye."


def _series_points(effects: pl.DataFrame) -> list[Point]:
    if effects.is_empty():
        return []
    kept = effects.select("member", "series", "component_share", "ratio").drop_nulls()
    order = kept.select("member", "series").unique(maintain_order=True).with_row_index("line")
    step = max(1, math.ceil(order.height / SERIES_DRAWN))
    order = order.filter(pl.col("line") % step == 0)
    drawn = kept.join(order, on=["member", "series"]).sort("line", "component_share")
    points = [
        Point(line, share, ratio)
        for line, share, ratio in drawn.select("line", "component_share", "ratio").iter_rows()
    ]
    return [Point(line, 0.0, 1.0) for line in order["line"]] + points


def _top(known: Sequence[Share], points: Sequence[Point], target: float) -> float:
    """Upper end of the axis: room for the averages and the whole new-grower band unless it is past use, not for every
    outlier."""
    averages = [share.ci[1] if share.ci else share.ratio or 1.0 for share in known]
    bands = [
        max(
            share.new_series_range(0.8)[1],
            min(share.new_series_range(0.95)[1], WIDEST * (share.ratio or 1.0)),
        )
        for share in known
        if share.has_new_series
    ]
    drawn = sorted(point.ratio for point in points)
    most = drawn[int(0.97 * (len(drawn) - 1))] if drawn else 1.0
    wanted = max([1.6, target * 1.3, *averages, *bands, most])
    return (
        math.ceil(min(wanted, 4 * max([1.6, target, *(share.ratio or 1.0 for share in known), most])) * 4) / 4
    )


def axes_for(tables: Sequence[Table], effects: pl.DataFrame, target: float) -> Axes:
    """Axes that hold every table and the series of `effects`."""
    known = [share for table in tables for share in table.known]
    points = _series_points(effects)
    shares = [share.share for share in known] + [point.share for point in points]
    lows = [share.new_series_range(0.95)[0] for share in known if share.has_new_series]
    lows += [point.ratio for point in points]
    bottom = min(0.5, 0.25 * math.floor(4 * min(lows, default=0.5)))
    return Axes(min(100.0, max(shares, default=60.0) + 4.0), bottom, _top(known, points, target))


def _bands(known: Sequence[Share], axes: Axes) -> list[alt.Chart]:
    import altair as alt

    drawn = []
    for levels, colour, opacity, of in (
        (COVERAGES, "newgrower", 0.13, "new"),
        (COVERAGES[:4:2], "average", 0.26, "average"),
    ):
        for level in levels:
            rows: list[dict[str, float]] = [{"x": 0, "y": 1, "h": 1}]
            for share in known:
                ends = _ends(share, of, level)
                if ends:
                    rows.append({"x": share.share, "y": ends[0], "h": min(ends[1], axes.top)})
            if len(rows) > 1:
                area = alt.Chart(data(rows)).mark_area(
                    color=token(colour), opacity=opacity, clip=True, interpolate="linear"
                )
                drawn.append(area.encode(x=axes.x(), y=axes.y(), y2="h:Q"))
    return drawn


def _ends(share: Share, of: str, level: float) -> tuple[float, float] | None:
    if of == "average":
        return share.average_range(level)
    return share.new_series_range(level) if share.has_new_series else None


def _series(points: Sequence[Point], axes: Axes) -> list[alt.Chart]:
    import altair as alt

    if not points:
        return []
    many = len(points) > 400
    rows = [{"l": point.line, "x": point.share, "y": point.ratio} for point in points]
    base = alt.Chart(data(rows)).encode(x=axes.x(), y=axes.y(), detail="l:N")
    thin = base.mark_line(color=token("member"), strokeWidth=0.8, opacity=0.22 if many else 0.45, clip=True)
    marks = base.transform_filter("datum.x > 0").mark_point(
        color=token("member"), filled=True, size=10 if many else 16, opacity=0.4 if many else 0.7, clip=True
    )
    return [thin, marks]


def _means(known: Sequence[Share], axes: Axes) -> list[alt.Chart]:
    import altair as alt

    if not known:
        return []
    rows: list[dict[str, float | None]] = [{"x": 0.0, "y": 1.0}]
    rows += [{"x": share.share, "y": share.ratio} for share in known]
    base = alt.Chart(data(rows)).encode(x=axes.x(), y=axes.y())
    return [
        base.mark_line(color=token("average"), strokeWidth=2.4, clip=True),
        base.transform_filter("datum.x > 0").mark_point(
            color=token("average"), filled=True, shape="diamond", size=95, opacity=1, clip=True
        ),
    ]


def _rules(target: float, axes: Axes) -> list[alt.Chart]:
    import altair as alt

    solid = alt.Chart(data([{"y": 1.0}])).mark_rule(color=token("ink"), strokeWidth=1.2).encode(y=axes.y())
    dashed = alt.Chart(data([{"y": target}])).mark_rule(
        color=token("ink"), strokeWidth=1.2, strokeDash=[6, 4]
    )
    return [solid, dashed.encode(y=axes.y())]


def _labels(table: Table, axes: Axes) -> list[alt.Chart]:
    """The names of the bands, set into the bands, each with a halo of the paper's colour."""
    import altair as alt

    known = table.known
    if not known or not known[-1].has_new_series:
        return []
    last = known[-1]
    high = min(axes.top * 0.93, last.new_series_range(0.8)[1])
    drawn = []
    for ratio, name, colour in (
        (last.ratio, "the average", "average"),
        (high, newcomer(table.scope), "newgrower"),
    ):
        row = {"x": last.share, "y": ratio, "t": rough(name, last.members)}
        base = alt.Chart(data([row])).encode(x=axes.x(), y=axes.y(), text="t:N")
        for stroke, tone in ((4, "paper"), (0, colour)):
            drawn.append(
                base.mark_text(
                    align="right",
                    dx=-9,
                    dy=-9,
                    fontWeight="bold",
                    fontSize=14,
                    stroke=token("paper"),
                    strokeWidth=stroke,
                    color=token(tone),
                )
            )
    return drawn


def _described(table: Table, reference: str, component: str) -> str:
    """The text alternative: what is drawn, then every average in words."""
    if not table.known:
        return (
            f"Single series only: too few growers for an average of {plain(component)} against {reference}."
        )
    averages = "; ".join(
        f"{percent(share.share)}: {two_figures(share.ratio or 1.0)} times as fast"
        + (f", average {between(*share.ci)}" if share.ci else "")
        + (f", {newcomer(table.scope)} {between(*share.new_series)}" if share.new_series else "")
        + f", {who(share.members, share.series)}"
        for share in table.known
    )
    return f"Drainage against {reference} by share of {plain(component)}, {plain(table.name)}. {averages}."


def target_words(target: float) -> str:
    """The dashed line's name, for captions."""
    return f"Dashed: {setting_number(target)} times as fast, the club's line for enough."

"""The main picture: the averages of both pour states, the range for a new grower, everyone's results as faint dots.

Drawn twice, for a phone and for a wide column; the style sheet shows one of them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import polars as pl

from reports.answer import FRESH, SETTLED, Share, Table
from reports.charts.curve_marks import Label, averages, bands, dots, lines_of_series, placed, ring
from reports.charts.drawing import Drawing
from reports.charts.spec import times_ticks
from reports.headline import POTS, Case
from reports.page import DrawingBlock
from reports.tables import shares_table
from reports.words import (
    MEMBERS_FOR_WORDS,
    Compared,
    between,
    capital,
    count,
    mix,
    newcomer,
    plain,
    setting_number,
    two_figures,
    who,
)
from schemas.trade.parts import parts_of

NAMES = {FRESH: "freshly filled", SETTLED: "settled pots"}
SERIES_DRAWN = 200
WIDEST = 2.0
"""A range is drawn whole up to this many times the average."""
ROOM_BEYOND = 12.0
"""Percent of the axis kept for what lies beyond the largest share tested."""


@dataclass(frozen=True)
class Axes:
    """Both axes: shares in percent from 0, times as fast on a linear scale; where they lie in the drawing."""

    largest: float
    right: float
    bottom: float
    top: float
    width: float = 366.0
    height: float = 300.0
    room: float = 92.0

    @property
    def floor(self) -> float:
        """Lower edge of the plot."""
        return self.height - 46.0

    def x(self, share: float) -> float:
        """Across, linear in the share."""
        return 34.0 + share / self.right * (self.width - 34.0 - self.room)

    def y(self, ratio: float) -> float:
        """Down, linear in times as fast; values beyond an end of the axis lie at that end."""
        inside = min(max(ratio, self.bottom), self.top)
        return self.floor - (inside - self.bottom) / (self.top - self.bottom) * (self.floor - 12.0)

    def wide(self) -> Axes:
        """The same for a wide column."""
        return replace(self, width=740.0, height=350.0, room=150.0)


@dataclass(frozen=True)
class Point:
    """One series at one share: how many times as fast as its own straight base."""

    line: int
    share: float
    ratio: float


def curve(
    name: str,
    case: Case,
    effects: pl.DataFrame,
    target: float,
    compared: Compared,
    axes: Axes | None = None,
) -> DrawingBlock | None:
    """The curve of one case; None where there is nothing to draw. `effects`: member, series, component_share and ratio per
    series and share, of the case's own pots. `axes`: given where several curves are set beside each other."""
    points = series_points(effects)
    if not case.table.known and not points:
        return None
    narrow = axes or axes_for([case.table], effects, target)
    described = _described(case, compared)
    beyond = sum(point.ratio > narrow.top for point in points)
    clipped = f" ▲ at the top: {count(beyond, 'result')} above {two_figures(narrow.top)}×." if beyond else ""
    return DrawingBlock(
        name,
        described,
        _drawn(case, points, target, compared, narrow, described).as_svg(),
        shares_table(case.table, target, compared.reference, compared.component)
        if case.table.shares
        else None,
        caption=_caption(case) + clipped,
        wide=None
        if axes is not None
        else _drawn(case, points, target, compared, narrow.wide(), described).as_svg(),
        lines=bool(points),
    )


def series_points(effects: pl.DataFrame) -> list[Point]:
    """Every series at every share, at most `SERIES_DRAWN` series."""
    if effects.is_empty():
        return []
    kept = effects.select("member", "series", "component_share", "ratio").drop_nulls()
    order = kept.select("member", "series").unique(maintain_order=True).with_row_index("line")
    step = max(1, math.ceil(order.height / SERIES_DRAWN))
    order = order.filter(pl.col("line") % step == 0)
    drawn = kept.join(order, on=["member", "series"]).sort("line", "component_share")
    return [Point(*row) for row in drawn.select("line", "component_share", "ratio").iter_rows()]


def axes_for(tables: Sequence[Table], effects: pl.DataFrame, target: float) -> Axes:
    """Axes that hold every table and nearly all series of `effects`; single results beyond the top are marked there."""
    known = [share for table in tables for share in table.known]
    points = series_points(effects)
    largest = max([share.share for share in known] or [point.share for point in points], default=60.0)
    lows = [share.new_series[0] for share in known if share.new_series]
    lows += [point.ratio for point in points]
    bottom = max(0.0, min(0.5, 0.25 * math.floor(4 * min(lows, default=0.5))))
    return Axes(largest, min(100.0, largest + ROOM_BEYOND), bottom, _top(known, points, target))


def _top(known: Sequence[Share], points: Sequence[Point], target: float) -> float:
    averages_end = [share.ci[1] if share.ci else share.ratio or 1.0 for share in known]
    ranges = [
        min(share.new_series[1], WIDEST * (share.ratio or 1.0))
        for share in known
        if share.new_series is not None
    ]
    ratios = sorted(point.ratio for point in points)
    most = ratios[int(0.97 * (len(ratios) - 1))] if ratios else 1.0
    wanted = max([1.6, target * 1.3, *averages_end, *ranges, most])
    usual = 4 * max([1.6, target, *(share.ratio or 1.0 for share in known)])
    return math.ceil(min(wanted, usual) * 4) / 4


def _drawn(
    case: Case, points: Sequence[Point], target: float, compared: Compared, axes: Axes, described: str
) -> Drawing:
    drawing = Drawing(axes.width, axes.height, described)
    few = case.table.members < MEMBERS_FOR_WORDS
    _grid(drawing, axes, target, compared.reference)
    if not few:
        bands(drawing, axes, case.table.known)
    lines_of_series(drawing, axes, points)
    dots(drawing, axes, points)
    if not few:
        if case.other is not None:
            averages(drawing, axes, case.other.known, strong=False)
        averages(drawing, axes, case.table.known, strong=True)
        if case.row is not None and case.row.ratio is not None:
            ring(drawing, axes, case.row.share, case.row.ratio)
        for label in placed(_labels(case, compared, axes)):
            label.draw(drawing)
    _shares_below(drawing, axes, case, points)
    return drawing


def _grid(drawing: Drawing, axes: Axes, target: float, reference: str) -> None:
    left, right = axes.x(0), axes.x(axes.right)
    for tick in times_ticks(axes.top):
        if tick < axes.bottom:
            continue
        y = axes.y(tick)
        drawing.add("line", x1=left, x2=right, y1=y, y2=y, stroke="var(--line)", stroke_width=0.8)
        words = "½×" if tick == 0.5 else f"{tick:g}×".replace(".5×", "½×")
        drawing.words(left - 5, y + 4, words, text_anchor="end", fill="var(--soft)", font_size=12)
    for ratio, dash, words in (
        (1.0, "none", reference),
        (target, "6 4", f"enough: {setting_number(target)}×"),
    ):
        y = axes.y(ratio)
        drawing.add(
            "line",
            x1=left,
            x2=right,
            y1=y,
            y2=y,
            stroke="var(--ink)",
            stroke_width=1.2,
            stroke_dasharray=dash,
        )
        below = ratio == 1.0
        drawing.words(left + 3, y + (14 if below else -4), words, font_size=12, class_="halo")
    _untested(drawing, axes)


def _untested(drawing: Drawing, axes: Axes) -> None:
    """What lies beyond the largest share tested, hatched."""
    left, right = axes.x(axes.largest) + 9, axes.x(axes.right)
    if right - left < 8:
        return
    across, step = right - left, 9.0
    path = []
    y = axes.floor
    while y - across > 12.0:
        path.append(f"M{left:.1f},{y:.1f}L{right:.1f},{y - across:.1f}")
        y -= step
    drawing.add("path", d="".join(path), stroke="var(--line)", stroke_width=1.2, fill="none")
    drawing.words(
        left + across / 2, axes.floor - 6, "not tested", text_anchor="middle", font_size=12, class_="halo"
    )


def _labels(case: Case, compared: Compared, axes: Axes) -> list[Label]:
    """Names at the right, each at the edge or line that it names."""
    known = [row for row in case.table.known if row.ratio is not None]
    if not known:
        return []
    last = known[-1]
    x = axes.x(axes.right) + 6
    labels = [Label(x, axes.y(last.ratio or 1.0), NAMES[case.state], "average", strong=True)]
    if last.new_series is not None:
        labels.append(
            Label(x, axes.y(last.new_series[1]), f"{newcomer(compared.scope)},", "newgrower", "up to here")
        )
        labels.append(
            Label(x, axes.y(last.new_series[0]), f"{newcomer(compared.scope)},", "newgrower", "down to here")
        )
    others = [row for row in case.other.known if row.ratio is not None] if case.other is not None else []
    if others:
        labels.append(Label(x, axes.y(others[-1].ratio or 1.0), NAMES[case.other_state], "ink"))
    return labels


def _shares_below(drawing: Drawing, axes: Axes, case: Case, points: Sequence[Point]) -> None:
    shares = [row.share for row in case.table.shares] or sorted({point.share for point in points})
    focus = case.row.share if case.row is not None else None
    taken = [axes.x(focus)] if focus is not None else []
    for share in sorted(shares, key=lambda share: share != focus):
        x = axes.x(share)
        if share != focus and any(abs(x - place) < 30 for place in taken):
            continue
        taken.append(x)
        weight = "bold" if share == focus else "normal"
        drawing.words(
            x, axes.floor + 16, f"{share:g} %", text_anchor="middle", font_size=12, font_weight=weight
        )
        parts = parts_of(share)
        if parts:
            drawing.words(
                x,
                axes.floor + 31,
                parts,
                text_anchor="middle",
                font_size=12,
                font_weight=weight,
                fill="var(--soft)",
            )


def _caption(case: Case) -> str:
    if case.table.members < MEMBERS_FOR_WORDS:
        return "Each dot is one series. Too few growers for an average to be drawn."
    other = f" Dashed: {POTS[case.other_state]}." if case.other is not None and case.other.known else ""
    return f"Strong line: the average in {case.pots}, in the band where it lies. Light band: a new grower.{other} Dots: single series."


def _described(case: Case, compared: Compared) -> str:
    """The text alternative: what is drawn, then every average in words."""
    component = plain(compared.component)
    if not case.table.known or case.table.members < MEMBERS_FOR_WORDS:
        return (
            f"Single series only: too few growers for an average of {component} against {compared.reference}."
        )
    spoken = "; ".join(
        f"{mix(share.share)}: {two_figures(share.ratio or 1.0)} times as fast"
        + (f", average {between(*share.ci)}" if share.ci else "")
        + (f", {newcomer(case.table.scope)} {between(*share.new_series)}" if share.new_series else "")
        + f", {who(share.members, share.series)}"
        for share in case.table.known
    )
    return f"{capital(case.pots)}: drainage against {compared.reference} by share of {component}. {spoken}."


def target_words(target: float) -> str:
    """The dashed line's name, for captions."""
    return f"Dashed: {setting_number(target)} times as fast, the club's line for enough."

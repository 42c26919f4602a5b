"""A reader's own part of the pool over the shares: growers as dots, their pooled average, everyone's line behind."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reports.charts.drawing import Drawing
from reports.charts.spec import times_ticks
from reports.page import DrawingBlock
from reports.words import between, percent, two_figures

WIDTH, HEIGHT = 380.0, 274.0
LEFT, RIGHT, TOP, BOTTOM = 34.0, 372.0, 12.0, 214.0


@dataclass(frozen=True)
class PartShare:
    """One share in one part of the pool: each grower's ratio, the pooled average and where it lies, 19 in 20."""

    share: float
    growers: tuple[float, ...]
    average: float | None
    sure: tuple[float, float] | None


@dataclass(frozen=True)
class PartAxes:
    """The same axes for every part, so that a reader who chooses another sees what moved."""

    shares: tuple[float, ...]
    top: float

    def x(self, share: float) -> float:
        """Across, linear in the share from 0."""
        return LEFT + 14 + share / max(self.shares) * (RIGHT - LEFT - 30)

    def y(self, ratio: float) -> float:
        """Down, linear in times as fast from 0."""
        return BOTTOM - min(ratio, self.top) / self.top * (BOTTOM - TOP)


def part_axes(parts: Sequence[PartShare]) -> PartAxes:
    """Axes that hold every grower of every part."""
    top = max((max(part.growers, default=1.0) for part in parts), default=1.0)
    return PartAxes(tuple(part.share for part in parts) or (1.0,), math.ceil(2 * max(1.5, top)) / 2)


def part_drawing(
    name: str, where: str, parts: Sequence[PartShare], everyone: Sequence[PartShare], axes: PartAxes
) -> DrawingBlock:
    """The part drawn; `everyone` as a dotted line for comparison, empty where the part is everyone."""
    averages = [part for part in parts if part.average is not None]
    by_share = "; ".join(
        f"{percent(part.share)}: {len(part.growers)} growers, on average {two_figures(part.average or 0.0)}"
        + (f" ({between(*part.sure)})" if part.sure else "")
        for part in averages
    )
    drawing = Drawing(WIDTH, HEIGHT, f"{where}, times as fast by share. {by_share}.")
    _frame(drawing, axes)
    _everyone(drawing, everyone, axes)
    for part in parts:
        _share(drawing, part, axes)
    legend = "● one grower   ▬ their average"
    legend += "   ┄ everyone’s average" if everyone else ""
    drawing.words(LEFT, HEIGHT - 6, legend, fill="var(--soft)", font_size=12)
    caption = "Bar: where the average lies, 19 in 20 sure. Line at 1×: as fast as straight peat."
    return DrawingBlock(name, f"{where}. {by_share}.", drawing.as_svg(), caption=caption, bare=True)


def _frame(drawing: Drawing, axes: PartAxes) -> None:
    for tick in times_ticks(axes.top):
        y = axes.y(tick)
        strong = tick == 1.0
        line: dict[str, float | str] = {"stroke": "var(--ink)" if strong else "var(--line)"}
        drawing.add("line", x1=LEFT, x2=RIGHT, y1=y, y2=y, stroke_width=1.2 if strong else 0.8, **line)
        words = "½×" if tick == 0.5 else f"{tick:g}×".replace(".5×", "½×")
        drawing.words(LEFT - 5, y + 4, words, text_anchor="end", fill="var(--soft)", font_size=12)
    free = -math.inf
    for share in axes.shares:
        if axes.x(share) - free < 26:
            continue
        free = axes.x(share)
        drawing.words(free, BOTTOM + 17, f"{share:g}", text_anchor="middle", fill="var(--soft)", font_size=12)
    middle = (LEFT + RIGHT) / 2
    words = "percent of loose volume"
    drawing.words(middle, BOTTOM + 34, words, text_anchor="middle", fill="var(--soft)", font_size=12)


def _everyone(drawing: Drawing, everyone: Sequence[PartShare], axes: PartAxes) -> None:
    points = [(axes.x(part.share), axes.y(part.average)) for part in everyone if part.average is not None]
    if len(points) > 1:
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        style = {"fill": "none", "stroke": "var(--soft)", "stroke_dasharray": "3 3"}
        drawing.add("polyline", points=path, stroke_width=1.6, **style)


def _share(drawing: Drawing, part: PartShare, axes: PartAxes) -> None:
    x = axes.x(part.share)
    if part.sure is not None:
        high, low = axes.y(part.sure[1]), axes.y(part.sure[0])
        drawing.add(
            "rect", x=x - 6, y=high, width=12.0, height=low - high, fill="var(--average)", opacity=0.3
        )
    dots = "".join(f"M{x:.1f},{axes.y(ratio):.1f}h.01" for ratio in part.growers)
    style: dict[str, float | str] = {
        "stroke": "var(--newgrower)",
        "stroke_linecap": "round",
        "stroke_width": 7.5,
    }
    drawing.add("path", d=dots, opacity=0.8, **style)
    if part.average is not None:
        y = axes.y(part.average)
        drawing.add("line", x1=x - 11, x2=x + 11, y1=y, y2=y, stroke="var(--average)", stroke_width=3.5)

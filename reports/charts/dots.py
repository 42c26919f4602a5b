"""Twenty dots for "what might I get?": twenty equally likely outcomes of one new pot beside one new pot.

A quantile dot plot (Kay et al. 2016; Fernandes et al. 2018): people count dots, so the chance is countable.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from reports.answer import Share
from reports.charts.drawing import Drawing
from reports.page import DrawingBlock, TableBlock, cell
from reports.words import Compared, newcomers, setting_number, two_figures

WIDTH, LEFT, RIGHT = 360.0, 16.0, 344.0
LARGEST_RADIUS = 7.5
MOST_BINS = 26


@dataclass(frozen=True)
class Counted:
    """How many of the twenty dots fall below straight base, between, and at or above the target."""

    slower: int
    between: int
    reached: int


def counted(dots: list[float], target: float) -> Counted:
    """The three counts that the picture, its caption and its sentence share."""
    slower = sum(dot < 1.0 for dot in dots)
    reached = sum(dot >= target for dot in dots)
    return Counted(slower, len(dots) - slower - reached, reached)


def dots_drawing(name: str, share: Share, target: float, compared: Compared) -> DrawingBlock | None:
    """The picture for one share, or nothing where no range for a new grower is known."""
    dots, reference = share.pot_dots(), compared.reference
    if not dots or not share.has_new_series:
        return None
    counts = counted(dots, target)
    description = (
        f"Of twenty {newcomers(compared.scope)} of single pots, {counts.reached} would drain at least {setting_number(target)} times as fast "
        f"as their own pot of {reference}, {counts.between} faster but by less, {counts.slower} slower."
    )
    drawing = _drawn(dots, target, reference, description)
    table = TableBlock(
        "The twenty dots",
        ("dot", f"times as fast as {reference}"),
        tuple((cell(str(number)), cell(two_figures(dot))) for number, dot in enumerate(dots, 1)),
        frozenset({0, 1}),
    )
    caption = (
        f"● reaches {setting_number(target)} times: {counts.reached} · ◐ faster, by less: {counts.between} · "
        f"○ slower: {counts.slower}"
    )
    return DrawingBlock(name, description, drawing.as_svg(), table, caption)


@dataclass(frozen=True)
class _Axis:
    """Equal bins whose edges fall on 1 and on the target, so that no dot straddles either line."""

    low: float
    width: float
    bins: int

    @property
    def high(self) -> float:
        return self.low + self.width * self.bins

    @property
    def radius(self) -> float:
        return min(LARGEST_RADIUS, (RIGHT - LEFT) / self.bins / 2)

    def place(self, value: float) -> float:
        return LEFT + (min(value, self.high) - self.low) / (self.high - self.low) * (RIGHT - LEFT)

    def stacks(self, dots: list[float]) -> dict[int, list[float]]:
        stacks: dict[int, list[float]] = {}
        for dot in dots:
            number = math.floor((min(dot, self.high) - self.low) / self.width + 1e-9)
            stacks.setdefault(min(self.bins - 1, max(0, number)), []).append(dot)
        return stacks


def _axis(dots: list[float], target: float) -> _Axis:
    low, high = min(0.5, dots[0] * 0.95), max(2.0, target * 1.2, dots[-2] * 1.15)
    fitting = [pieces for pieces in range(1, 9) if (high - low) * pieces / (target - 1.0) <= MOST_BINS]
    width = (target - 1.0) / max(fitting, default=1)
    below, above = math.ceil((1.0 - low) / width), math.ceil((high - 1.0) / width)
    return _Axis(1.0 - below * width, width, below + above)


def _drawn(dots: list[float], target: float, reference: str, description: str) -> Drawing:
    axis = _axis(dots, target)
    stacks = axis.stacks(dots)
    radius = axis.radius
    floor = 34.0 + max(3, *(len(stack) for stack in stacks.values())) * 2 * radius
    drawing = Drawing(WIDTH, floor + 40, description)
    for value in _ticks(axis.low, axis.high):
        x = axis.place(value)
        drawing.add("line", x1=x, x2=x, y1=24.0, y2=floor, stroke="var(--line)", stroke_dasharray="1 3")
        drawing.words(x, floor + 18, _times(value), text_anchor="middle", fill="var(--soft)")
    _line_with_words(drawing, axis.place(1.0), floor, reference, "end")
    _line_with_words(drawing, axis.place(target), floor, f"{setting_number(target)} times", "start")
    for number, stack in stacks.items():
        for level, value in enumerate(stack):
            x = LEFT + (number + 0.5) * (RIGHT - LEFT) / axis.bins
            _dot(drawing, (x, floor - radius - level * 2 * radius), radius - 0.8, value, target)
    drawing.words(
        WIDTH / 2, floor + 36, f"times as fast as {reference}", text_anchor="middle", fill="var(--soft)"
    )
    return drawing


def _ticks(low: float, high: float) -> list[float]:
    step = next((step for step in (0.5, 1.0, 2.0, 5.0, 10.0, 50.0) if (high - low) / step <= 7), 100.0)
    first = math.ceil(low / step)
    return [number * step for number in range(first, math.floor(high / step) + 1) if number * step > 0]


def _times(value: float) -> str:
    whole, half = divmod(round(value * 2), 2)
    return ("½×" if half and not whole else f"{whole}½×" if half else f"{whole}×").replace(" ", "")


def _line_with_words(drawing: Drawing, x: float, floor: float, text: str, anchor: str) -> None:
    drawing.add("line", x1=x, x2=x, y1=6.0, y2=floor, stroke="var(--ink)", stroke_width=1)
    drawing.words(x - 5 if anchor == "end" else x + 5, 16, text, text_anchor=anchor)


def _dot(drawing: Drawing, centre: tuple[float, float], reach: float, value: float, target: float) -> None:
    x, y = centre
    reached, slower = value >= target, value < 1.0
    fill = "var(--newgrower)" if reached else "var(--paper)"
    drawing.add("circle", cx=x, cy=y, r=reach, fill=fill, stroke="var(--newgrower)", stroke_width=1.6)
    if not reached and not slower:
        drawing.add(
            "path",
            d=f"M{x:.2f} {y - reach:.2f} a{reach:g} {reach:g} 0 0 0 0 {2 * reach:g} z",
            fill="var(--newgrower)",
        )

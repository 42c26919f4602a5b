"""Twenty dots for "what might I get?": twenty equally likely outcomes of one new pot beside one new pot.

A quantile dot plot (Kay et al. 2016; Fernandes et al. 2018): people count dots, so the chance is countable.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from reports.answer import Share
from reports.charts.drawing import Drawing
from reports.page import DrawingBlock, Mini, TableBlock, cell
from reports.words import Compared, newcomers, setting_number, two_figures

WIDTH, LEFT, RIGHT = 360.0, 16.0, 344.0
LARGEST_RADIUS = 7.5
SMALLEST_RADIUS = 3.0
MOST_BINS = 26


@dataclass(frozen=True)
class Counted:
    """How many of the twenty dots fall below straight base, between, and at or above the target."""

    slower: int
    between: int
    reached: int


def pot_dots(share: Share, target: float) -> list[float]:
    """Twenty equally likely single pots, rising, on the sides of 1 and of the target where the printed chances put them:
    a dot that the redrawn range puts beyond a line is moved up to it."""
    dots = share.pot_dots()
    if not dots or share.p_faster_pot is None or share.p_clears_pot is None:
        return dots
    reached = round(len(dots) * share.p_clears_pot)
    slower = min(len(dots) - round(len(dots) * share.p_faster_pot), len(dots) - reached)
    below = math.nextafter(1.0, 0.0), math.nextafter(target, 0.0)
    return [
        min(dot, below[0])
        if place < slower
        else min(max(dot, 1.0), below[1])
        if place < len(dots) - reached
        else max(dot, target)
        for place, dot in enumerate(dots)
    ]


def counted(dots: list[float], target: float) -> Counted:
    """The three counts that the picture, its caption and its sentence share."""
    slower = sum(dot < 1.0 for dot in dots)
    reached = sum(dot >= target for dot in dots)
    return Counted(slower, len(dots) - slower - reached, reached)


def dots_drawing(name: str, share: Share, target: float, compared: Compared) -> DrawingBlock | None:
    """The picture for one share, or nothing where no range for a new grower is known."""
    dots, reference = pot_dots(share, target), compared.reference
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
    caption = f"● at least {setting_number(target)}×: {counts.reached} · ◐ faster by less: {counts.between} · ○ slower: {counts.slower}"
    return DrawingBlock(name, description, drawing.as_svg(), table, caption)


def dot_row(share: Share, target: float) -> Mini | None:
    """The twenty dots of a share as small as a word, two rows of ten; None where they are not known."""
    dots = pot_dots(share, target)
    if not dots or not share.has_new_series:
        return None
    counts = counted(dots, target)
    text = f"of 20: {counts.reached} reach it, {counts.between} faster by less, {counts.slower} slower"
    drawing = Drawing(82.0, 18.0, text)
    for place, value in enumerate(reversed(dots)):
        _dot(drawing, (5.0 + 8 * (place % 10), 5.0 + 8 * (place // 10)), 2.9, value, target)
    return Mini(drawing.as_svg(), text)


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
        return max(SMALLEST_RADIUS, min(LARGEST_RADIUS, (RIGHT - LEFT) / self.bins / 2))

    def place(self, value: float) -> float:
        return LEFT + (min(value, self.high) - self.low) / (self.high - self.low) * (RIGHT - LEFT)

    def stacks(self, dots: list[float]) -> dict[int, list[float]]:
        stacks: dict[int, list[float]] = {}
        for dot in dots:
            number = math.floor((min(dot, self.high) - self.low) / self.width + 1e-9)
            stacks.setdefault(min(self.bins - 1, max(0, number)), []).append(dot)
        return stacks


def _axis(dots: list[float], target: float) -> _Axis:
    """Up to `MOST_BINS` bins: what lies beyond them is drawn at the edge, and marked there."""
    low, high = min(0.5, dots[0] * 0.95), max(2.0, target * 1.2, dots[-2] * 1.15)
    fitting = [pieces for pieces in range(1, 9) if (high - low) * pieces / (target - 1.0) <= MOST_BINS]
    width = (target - 1.0) / max(fitting, default=1)
    below = min(math.ceil((1.0 - low) / width), MOST_BINS // 3)
    above = min(math.ceil((high - 1.0) / width), MOST_BINS - below)
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
    beyond = [
        f"{number} {word}"
        for number, word in (
            (sum(dot > axis.high for dot in dots), f"above {two_figures(axis.high)}×"),
            (sum(dot < axis.low for dot in dots), f"below {two_figures(axis.low)}×"),
        )
        if number
    ]
    edge = f"; at the edge: {', '.join(beyond)}" if beyond else ""
    drawing.words(
        WIDTH / 2, floor + 36, f"times as fast as {reference}{edge}", text_anchor="middle", fill="var(--soft)"
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

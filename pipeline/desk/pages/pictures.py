"""Small drawings for the desk: the pooled answer over shares, and own dots beside others'. Linear, from zero up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from reports.charts.drawing import Drawing
from reports.words import percent, two_figures

WIDTH, HEIGHT = 400.0, 290.0
LEFT, RIGHT, TOP, BOTTOM = 34.0, 24.0, 14.0, 44.0
MOST_SHOWN = 6.0
"""Ratios beyond this are drawn at the edge: one wild pot must not squeeze all others."""


class _Plane:
    """Share (0-100 %) across, ratio up."""

    def __init__(self, drawing: Drawing, highest: float) -> None:
        self.drawing = drawing
        self.highest = min(max(2.0, highest * 1.08), MOST_SHOWN)

    def x(self, share: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * share / 100.0

    def y(self, ratio: float) -> float:
        return TOP + (HEIGHT - TOP - BOTTOM) * (1 - min(ratio, self.highest) / self.highest)

    def frame(self) -> None:
        """Scales, and the line of straight base."""
        for share in range(0, 101, 20):
            self.drawing.words(
                self.x(share), HEIGHT - BOTTOM + 18, percent(share), text_anchor="middle", fill="var(--soft)"
            )
        self.drawing.words(
            self.x(50), HEIGHT - 6, "component by volume", text_anchor="middle", fill="var(--soft)"
        )
        for ratio in range(int(self.highest) + 1):
            words = f"{ratio}×"
            self.drawing.words(LEFT - 8, self.y(ratio) + 4, words, text_anchor="end", fill="var(--soft)")
            if ratio != 1:
                self._across(ratio, "var(--line)", "1 3")
        self._across(1.0, "var(--ink)", "")
        self.drawing.words(
            self.x(100), self.y(1.0) - 6, "as fast as straight base", text_anchor="end", fill="var(--soft)"
        )

    def _across(self, ratio: float, colour: str, dashes: str) -> None:
        more: dict[str, float | str] = {"stroke_dasharray": dashes} if dashes else {}
        self.drawing.add(
            "line", x1=LEFT, x2=WIDTH - RIGHT, y1=self.y(ratio), y2=self.y(ratio), stroke=colour, **more
        )

    def upright(self, share: float, ends: tuple[float, ...], colour: str, width: float) -> None:
        """A bar from one ratio to another."""
        low, high = ends
        self.drawing.add(
            "line",
            x1=self.x(share),
            x2=self.x(share),
            y1=self.y(low),
            y2=self.y(high),
            stroke=colour,
            stroke_width=width,
            stroke_linecap="round",
        )


def answer_picture(component: str, shares: Sequence[Mapping[str, Any]]) -> str | None:
    """The pooled ratio of each share: thick bar the average's 95 % interval, thin bar a new grower's. SVG, or None
    where no share has figures."""
    known = [row for row in shares if row["ratio"] is not None]
    if not known:
        return None
    described = f"{component}: " + "; ".join(
        f"{percent(row['share'])} {two_figures(row['ratio'])} times as fast" for row in known
    )
    drawing = Drawing(WIDTH, HEIGHT, described)
    plane = _Plane(drawing, max((row["new_series"] or row["ci"] or [0, row["ratio"]])[1] for row in known))
    plane.frame()
    for row in known:
        if row["new_series"]:
            plane.upright(row["share"], tuple(row["new_series"]), "var(--newgrower)", 2.0)
        if row["ci"]:
            plane.upright(row["share"], tuple(row["ci"]), "var(--average)", 7.0)
        drawing.add(
            "circle",
            cx=plane.x(row["share"]),
            cy=plane.y(row["ratio"]),
            r=5.0,
            fill="var(--paper)",
            stroke="var(--average)",
            stroke_width=2.5,
        )
    return drawing.as_svg()


def dots_picture(
    described: str, own: Sequence[tuple[float, float]], others: Sequence[tuple[float, float]]
) -> str:
    """(share, ratio) of own tests as full dots, of others as rings. SVG."""
    drawing = Drawing(WIDTH, HEIGHT, described)
    plane = _Plane(drawing, max(ratio for _, ratio in (*own, *others)))
    plane.frame()
    for share, ratio in others:
        drawing.add(
            "circle",
            cx=plane.x(share),
            cy=plane.y(ratio),
            r=5.0,
            fill="none",
            stroke="var(--member)",
            stroke_width=1.5,
        )
    for share, ratio in own:
        drawing.add(
            "circle",
            cx=plane.x(share),
            cy=plane.y(ratio),
            r=7.0,
            fill="var(--average)",
            stroke="var(--paper)",
            stroke_width=1.5,
        )
    return drawing.as_svg()

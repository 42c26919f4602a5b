"""What lies inside the plot of the main picture: ranges, dots, lines, diamonds, and labels that keep clear of each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from reports.answer import Range, Share
from reports.charts.drawing import Drawing

LABEL_GAP = 15.0


class Plane(Protocol):
    """Where a share and a ratio lie in the drawing; values above `top` lie at the upper edge."""

    @property
    def top(self) -> float:
        """Largest ratio drawn."""

    def x(self, share: float) -> float:
        """Across."""

    def y(self, ratio: float) -> float:
        """Down."""


class Result(Protocol):
    """One series at one share."""

    @property
    def line(self) -> int:
        """Number of the series."""

    @property
    def share(self) -> float:
        """Percent."""

    @property
    def ratio(self) -> float:
        """Times as fast."""


@dataclass(frozen=True)
class Label:
    """Words at the right of the plot; `y`: the height of what they name; `below`: a second line."""

    x: float
    y: float
    text: str
    colour: str
    below: str = ""
    strong: bool = False

    @property
    def height(self) -> float:
        """How much room it takes down the page."""
        return LABEL_GAP * (2 if self.below else 1)

    def draw(self, drawing: Drawing) -> None:
        """Puts the words into the drawing."""
        weight = "bold" if self.strong else "normal"
        drawing.words(
            self.x, self.y + 4, self.text, font_size=12, font_weight=weight, fill=f"var(--{self.colour})"
        )
        if self.below:
            drawing.words(self.x, self.y + 18, self.below, font_size=12, fill=f"var(--{self.colour})")


def placed(labels: Sequence[Label]) -> list[Label]:
    """The labels from above down, moved as far as they would touch: the highest keeps its place, or moves up."""
    rising = sorted(labels, key=lambda label: label.y)
    moved: list[Label] = []
    for label in rising:
        free = moved[-1].y + moved[-1].height if moved else label.y
        moved.append(replace(label, y=max(label.y, free)))
    return moved


def bands(drawing: Drawing, plane: Plane, known: Sequence[Share]) -> None:
    """A new grower's range with a dotted edge, and where the average lies, darker; both start at straight base."""
    new = [(row.share, row.new_series) for row in known if row.new_series is not None]
    average = [(row.share, row.ci) for row in known if row.ci is not None]
    _band(
        drawing,
        plane,
        new,
        {
            "fill": "var(--newgrower)",
            "fill_opacity": 0.14,
            "stroke": "var(--newgrower)",
            "stroke_dasharray": "2 3",
        },
    )
    _band(drawing, plane, average, {"fill": "var(--average)", "fill_opacity": 0.38, "stroke": "none"})


def _band(
    drawing: Drawing, plane: Plane, ends: Sequence[tuple[float, Range]], style: dict[str, float | str]
) -> None:
    if not ends:
        return
    start = (0.0, (1.0, 1.0))
    there = [f"{plane.x(share):.1f},{plane.y(end[1]):.1f}" for share, end in (start, *ends)]
    back = [f"{plane.x(share):.1f},{plane.y(end[0]):.1f}" for share, end in reversed((start, *ends))]
    drawing.add("polygon", points=" ".join(there + back), **style)


def dots(drawing: Drawing, plane: Plane, points: Sequence[Result]) -> None:
    """Every series at every share as one faint dot; those beyond the top as small triangles at the upper edge."""
    inside = "".join(
        f"M{plane.x(point.share):.1f},{plane.y(point.ratio):.1f}h.01"
        for point in points
        if point.ratio <= plane.top
    )
    above = "".join(
        f"M{plane.x(point.share) - 3:.1f},{plane.y(point.ratio) + 5:.1f}l3,-5l3,5z"
        for point in points
        if point.ratio > plane.top
    )
    faint = 0.55 if len(points) < 300 else 0.3
    style: dict[str, float | str] = {
        "stroke": "var(--member)",
        "stroke_linecap": "round",
        "stroke_width": 4.5,
    }
    if inside:
        drawing.add("path", d=inside, opacity=faint, class_="results", **style)
    if above:
        drawing.add("path", d=above, fill="var(--member)", class_="beyond")


def lines_of_series(drawing: Drawing, plane: Plane, points: Sequence[Result]) -> None:
    """Every series as a thin line from straight base, hidden until they are asked for."""
    by_line: dict[int, list[Result]] = {}
    for point in points:
        by_line.setdefault(point.line, []).append(point)
    path = "".join(
        f"M{plane.x(0):.1f},{plane.y(1.0):.1f}"
        + "".join(f"L{plane.x(point.share):.1f},{plane.y(point.ratio):.1f}" for point in line)
        for line in by_line.values()
    )
    if path:
        drawing.add(
            "path",
            d=path,
            fill="none",
            stroke="var(--member)",
            stroke_width=0.8,
            opacity=0.6,
            class_="series-lines",
        )


def averages(drawing: Drawing, plane: Plane, known: Sequence[Share], strong: bool) -> None:
    """A line through the averages with a diamond at each; dashed and hollow for the state that stands beside."""
    rows = [(row.share, row.ratio) for row in known if row.ratio is not None]
    if not rows:
        return
    path = " ".join(f"{plane.x(share):.1f},{plane.y(ratio):.1f}" for share, ratio in ((0.0, 1.0), *rows))
    colour = "var(--average)" if strong else "var(--ink)"
    drawing.add(
        "polyline", points=path, fill="none", stroke=colour, stroke_width=2.6 if strong else 1.3,
        stroke_dasharray="none" if strong else "7 4",
    )  # fmt: skip
    reach = 5.5 if strong else 4.0
    for share, ratio in rows:
        x, y = plane.x(share), plane.y(ratio)
        diamond = f"M{x:.1f},{y - reach:.1f}l{reach},{reach}l-{reach},{reach}l-{reach},-{reach}z"
        fill = colour if strong else "var(--paper)"
        drawing.add("path", d=diamond, fill=fill, stroke=colour, class_="average" if strong else "beside")


def ring(drawing: Drawing, plane: Plane, share: float, ratio: float) -> None:
    """Marks the chosen share."""
    drawing.add(
        "circle",
        cx=plane.x(share),
        cy=plane.y(ratio),
        r=11.0,
        fill="none",
        stroke="var(--ink)",
        stroke_width=2,
        class_="chosen",
    )

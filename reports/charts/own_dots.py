"""A grower's own ratios on the pool's: small enough that a page of it stays light."""

from __future__ import annotations

import math

import polars as pl

from reports.answer import Share, Table
from reports.charts.drawing import Drawing
from reports.page import DrawingBlock
from reports.words import between, percent, times_as_fast, two_figures

WIDTH, LEFT, RIGHT = 360.0, 46.0, 350.0
ROW = 26.0


def own_drawing(name: str, table: Table, own: pl.DataFrame) -> DrawingBlock | None:
    """One row per share: the pool's range and average, the grower's own dot. None where nothing is pooled."""
    own_ratios = {
        row["component_share"]: row["ratio"] for row in own.iter_rows(named=True) if row["ratio"] is not None
    }
    rows = [row for row in table.known if row.has_new_series and row.share in own_ratios]
    if not rows:
        return None
    ends = [row.new_series[1] for row in rows if row.new_series] + [own_ratios[row.share] for row in rows]
    top = math.ceil(2 * max(1.5, *ends)) / 2
    description = "; ".join(
        f"{percent(row.share)}: yours {times_as_fast(own_ratios[row.share])}, other growers {between(*row.new_series)}"
        for row in rows
        if row.new_series
    )
    drawing = _drawn(rows, own_ratios, top, description + ".")
    return DrawingBlock(
        name,
        description,
        drawing.as_svg(),
        caption=f"Line at 1×: as fast as straight peat. Largest shown: {two_figures(top)}×.",
        offered=False,
    )


def _drawn(rows: list[Share], own_ratios: dict[float, float], top: float, description: str) -> Drawing:
    height = ROW * len(rows) + 46
    drawing = Drawing(WIDTH, height, description)
    step = 0.5 if top <= 3 else math.ceil(top / 6)
    for number in range(1, int(top / step) + 1):
        words = f"{number * step:g}×"
        drawing.words(
            _place(number * step, top), 12, words, text_anchor="middle", fill="var(--soft)", font_size=12
        )
    same_speed = _place(1.0, top)
    drawing.add(
        "line", x1=same_speed, x2=same_speed, y1=18.0, y2=height - 26, stroke="var(--ink)", stroke_width=1.2
    )
    for number, row in enumerate(rows):
        _row(drawing, 20 + ROW * (number + 0.5), row, own_ratios[row.share], top)
    for x, words in (
        (LEFT, "● yours"),
        (LEFT + 72, "▌ the average"),
        (LEFT + 176, "light band: other growers"),
    ):
        drawing.words(x, height - 6, words, fill="var(--soft)", font_size=12)
    return drawing


def _place(value: float, top: float) -> float:
    return LEFT + min(value, top) / top * (RIGHT - LEFT)


def _row(drawing: Drawing, y: float, row: Share, own_ratio: float, top: float) -> None:
    average = row.ratio or 1.0
    low, high = (_place(end, top) for end in row.new_series or (average, average))
    drawing.words(2, y + 4, f"{row.share:g} %")
    drawing.add("rect", x=low, y=y - 8, width=high - low, height=16.0, fill="var(--newgrower)", opacity=0.3)
    drawing.add("rect", x=_place(average, top) - 1.5, y=y - 9, width=3.0, height=18.0, fill="var(--average)")
    style = {"fill": "var(--ink)", "stroke": "var(--paper)"}
    drawing.add("circle", cx=_place(own_ratio, top), cy=y, r=5.5, stroke_width=1.5, **style)

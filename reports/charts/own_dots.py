"""A grower's own ratios on the pool's: small enough that a page of it stays light."""

from __future__ import annotations

import math

import polars as pl

from reports.answer import Table
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
    said = "; ".join(
        f"{percent(row.share)}: yours {times_as_fast(own_ratios[row.share])}, other growers {between(*row.new_series)}"
        for row in rows
        if row.new_series
    )
    height = ROW * len(rows) + 46
    drawing = Drawing(WIDTH, height, said + ".")

    def place(value: float) -> float:
        across: float = min(value, top) / top * (RIGHT - LEFT)
        return LEFT + across

    step = 0.5 if top <= 3 else 1.0
    for number in range(1, int(top / step) + 1):
        x = place(number * step)
        drawing.words(x, 12, f"{number * step:g}×", text_anchor="middle", fill="var(--soft)", font_size=12)
    drawing.add(
        "line", x1=place(1.0), x2=place(1.0), y1=18.0, y2=height - 26, stroke="var(--ink)", stroke_width=1.2
    )
    for number, row in enumerate(rows):
        y = 20 + ROW * (number + 0.5)
        low, high = row.new_series or (row.ratio or 1.0, row.ratio or 1.0)
        drawing.words(2, y + 4, f"{row.share:g} %")
        drawing.add(
            "rect",
            x=place(low),
            y=y - 8,
            width=place(high) - place(low),
            height=16.0,
            fill="var(--newgrower)",
            opacity=0.3,
        )
        drawing.add(
            "rect", x=place(row.ratio or 1.0) - 1.5, y=y - 9, width=3.0, height=18.0, fill="var(--average)"
        )
        drawing.add(
            "circle",
            cx=place(own_ratios[row.share]),
            cy=y,
            r=5.5,
            fill="var(--ink)",
            stroke="var(--paper)",
            stroke_width=1.5,
        )
    drawing.words(
        LEFT, height - 6, "● yours   ▌the average   band: other growers", fill="var(--soft)", font_size=12
    )
    return DrawingBlock(
        name,
        said,
        drawing.as_svg(),
        caption=f"Line at 1×: as fast as straight peat. Largest shown: {two_figures(top)}×.",
        offered=False,
    )

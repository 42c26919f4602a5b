"""The map of the unknown: how many growers tested each share in each climate and pot size, empty cells in view."""

from __future__ import annotations

import polars as pl

from reports.charts.drawing import Drawing
from reports.page import DrawingBlock, TableBlock, cell
from reports.words import percent
from schemas.trade.pots import POT_SIZES

CELL_WIDTH_LEAST = 30.0
ROW = 24.0
LEFT = 74.0
WIDTH = 360.0


def unknown_map(name: str, frame: pl.DataFrame, shares: list[float]) -> DrawingBlock | None:
    """`frame`: member, climate, pot_size, component_share. A filled square holds the number of growers, an
    open one is untested."""
    climates = sorted(frame["climate"].unique()) if not frame.is_empty() else []
    if not climates or not shares:
        return None
    counts = _counts(frame)
    sizes = [size for size, _ in POT_SIZES]
    empty = sum(
        not counts.get((size, climate, share)) for size in sizes for climate in climates for share in shares
    )
    cells = len(sizes) * len(climates) * len(shares)
    description = f"{cells - empty} of {cells} combinations of climate, pot size and share have been tested; {empty} by nobody yet."
    across = max(CELL_WIDTH_LEAST, (WIDTH - LEFT - 6) / len(shares))
    panel = ROW * (len(climates) + 1) + 26
    drawing = Drawing(LEFT + across * len(shares) + 6, panel * len(sizes), description)
    for place, size in enumerate(sizes):
        _panel(drawing, place * panel, size, climates, shares, counts, across)
    return DrawingBlock(
        name,
        description,
        drawing.as_svg(),
        _table(sizes, climates, shares, counts),
        f"{description} Open squares wait for a first test.",
    )


def _panel(
    drawing: Drawing,
    top: float,
    size: str,
    climates: list[str],
    shares: list[float],
    counts: dict[tuple[str, str, float], int],
    across: float,
) -> None:
    drawing.words(2, top + 16, f"Pot {size}", font_weight="bold")
    for column, share in enumerate(shares):
        x = LEFT + (column + 0.5) * across
        drawing.words(x, top + 36, f"{share:g}", text_anchor="middle", fill="var(--soft)", font_size=12)
    drawing.words(2, top + 36, "percent", fill="var(--soft)", font_size=12)
    for row, climate in enumerate(climates):
        y = top + 42 + row * ROW
        drawing.words(2, y + 15, climate)
        for column, share in enumerate(shares):
            _square(drawing, LEFT + column * across, y, across, counts.get((size, climate, share), 0))


def _square(drawing: Drawing, x: float, y: float, across: float, count: int) -> None:
    drawing.add(
        "rect",
        x=x + 2,
        y=y + 1.0,
        width=across - 4,
        height=ROW - 4,
        fill="var(--newgrower)" if count else "none",
        stroke="var(--newgrower)" if count else "var(--soft)",
        stroke_dasharray="none" if count else "2 3",
    )
    if count:
        drawing.words(
            x + across / 2, y + 15, str(count), text_anchor="middle", fill="var(--paper)", font_weight="bold"
        )


def _counts(frame: pl.DataFrame) -> dict[tuple[str, str, float], int]:
    grouped = frame.group_by("pot_size", "climate", "component_share").agg(
        pl.col("member").n_unique().alias("growers")
    )
    return {(size, climate, share): int(growers) for size, climate, share, growers in grouped.iter_rows()}


def _table(
    sizes: list[str], climates: list[str], shares: list[float], counts: dict[tuple[str, str, float], int]
) -> TableBlock:
    rows = tuple(
        (
            cell(f"{climate}, {size}"),
            *(cell(str(counts.get((size, climate, share), 0) or "–")) for share in shares),
        )
        for size in sizes
        for climate in climates
    )
    return TableBlock(
        "Growers per combination", ("climate, pot", *(percent(share) for share in shares)), rows
    )

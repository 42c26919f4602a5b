"""The recommended mix drawn as equal scoops: as many dark ones as parts of base, as many speckled as component."""

from __future__ import annotations

from reports.charts.drawing import Drawing
from reports.page import DrawingBlock
from reports.words import parts_phrase, percent, plain

SCOOP = 44.0
GAP = 9.0
DEPTH = 40.0
SPECKS = (
    (10, 12, 3.2),
    (22, 8, 2.4),
    (33, 14, 3.4),
    (15, 24, 3.0),
    (27, 23, 2.6),
    (21, 34, 2.8),
    (31, 33, 2.0),
)


def parts_drawing(name: str, parts: str, share: float, base: str, component: str) -> DrawingBlock:
    """Scoops for `parts` (base first, such as 3:2); the text alternative says the same in words."""
    base_parts, component_parts = (int(number) for number in parts.split(":"))
    phrase = parts_phrase(parts, base, component)
    gaps = GAP * 3
    width = (base_parts + component_parts) * (SCOOP + GAP) + gaps
    drawing = Drawing(max(width, 250.0), 84.0, f"{phrase}, each scoop one part by loose volume.")
    x = 2.0
    start_of_component = 0.0
    for number in range(base_parts + component_parts):
        if number == base_parts:
            x += gaps
            start_of_component = x
            drawing.words(
                x - gaps / 2 - GAP / 2, 28, "+", font_size=22, text_anchor="middle", fill="var(--soft)"
            )
        _scoop(drawing, x, mineral=number >= base_parts)
        x += SCOOP + GAP
    base_name = "peat" if base == "sphagnum_peat" else plain(base)
    drawing.words(2, 66, f"{base_parts} {base_name}", font_weight="bold")
    drawing.words(start_of_component, 66, f"{component_parts} {plain(component)}", font_weight="bold")
    measured = f"Equal scoops, loose, by volume: {percent(share)} {plain(component)}."
    return DrawingBlock(name, f"{phrase}. {measured}", drawing.as_svg(), caption=measured, bare=True)


def _scoop(drawing: Drawing, x: float, mineral: bool) -> None:
    outline = f"M{x:g} 2 h{SCOOP:g} l-5 {DEPTH:g} h-{SCOOP - 10:g} z"
    fill = "var(--mineral)" if mineral else "var(--peat)"
    drawing.add("path", d=outline, fill=fill, stroke="var(--ink)", stroke_width=1.5, stroke_linejoin="round")
    if mineral:
        for across, down, radius in SPECKS:
            drawing.add(
                "circle",
                cx=x + across,
                cy=2.0 + down,
                r=radius,
                fill="none",
                stroke="#55402f",
                stroke_width=1.1,
            )

"""Colours and chart manners of the pages. Charts name colours by token; the page's stylesheet says what a
token is in light, dark and print, so one specification serves all three."""

from __future__ import annotations

import re
from collections.abc import Mapping

LIGHT: Mapping[str, str] = {
    "paper": "#fafbf8",
    "wash": "#edf1ec",
    "ink": "#1b2625",
    "soft": "#4a5856",
    "line": "#c9d2cd",
    "average": "#93264f",
    "newgrower": "#1f6f78",
    "member": "#5b6664",
    "peat": "#55402f",
    "mineral": "#f4efe2",
    "caution": "#7a4b00",
    "cautionwash": "#f8ecd2",
}
DARK: Mapping[str, str] = {
    "paper": "#131a1a",
    "wash": "#1d2726",
    "ink": "#e3eae7",
    "soft": "#aab8b4",
    "line": "#3a4744",
    "average": "#f191b2",
    "newgrower": "#74c5c8",
    "member": "#93a19d",
    "peat": "#8d6e56",
    "mineral": "#f1ebdc",
    "caution": "#f0c36b",
    "cautionwash": "#35290f",
}
FONT = "ui-sans-serif, 'Segoe UI', 'Noto Sans', 'Liberation Sans', sans-serif"
EXPORT_FONT = "Liberation Sans, DejaVu Sans, sans-serif"
_TOKEN = re.compile(r"var\(--([a-z]+)\)")


def token(name: str) -> str:
    """The colour `name` as the stylesheet knows it."""
    if name not in LIGHT:
        raise KeyError(name)
    return f"var(--{name})"


def css_tokens() -> str:
    """The stylesheet's first lines: every token in light, in dark, and in light again on paper."""
    light, dark = (
        " ".join(f"--{name}: {colour};" for name, colour in tones.items()) for tones in (LIGHT, DARK)
    )
    return (
        f":root {{ color-scheme: light dark; {light} }}\n"
        f"@media screen and (prefers-color-scheme: dark) {{ :root {{ {dark} }} }}\n"
    )


def in_plain_colours(drawing: str) -> str:
    """The text of a drawing or specification with every token replaced by its light colour: for files
    that leave the page."""
    return _TOKEN.sub(lambda found: LIGHT[found.group(1)], drawing)


def chart_config() -> dict[str, object]:
    """How every chart looks: no frame, quiet grid, the page's own colours and letters."""
    return {
        "background": "transparent",
        "font": FONT,
        "view": {"stroke": None},
        "axis": {
            "domain": False,
            "ticks": False,
            "grid": True,
            "gridColor": token("line"),
            "gridDash": [1, 3],
            "labelColor": token("soft"),
            "labelFontSize": 13,
            "labelPadding": 6,
            "titleColor": token("soft"),
            "titleFontSize": 13,
            "titleFontWeight": "normal",
        },
        "axisX": {"titlePadding": 10},
        "text": {"color": token("ink"), "fontSize": 13},
        "header": {"labelColor": token("ink"), "labelFontSize": 13, "titleColor": token("soft")},
    }

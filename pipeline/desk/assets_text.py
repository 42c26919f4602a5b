"""The stylesheet, the script and the little sign, read once from the installed package."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from reports.theme import css_tokens


@cache
def stylesheet() -> str:
    """Colours in light and dark, the reports' look, the desk's forms."""
    return css_tokens() + _text("reports", "page.css") + _text("pipeline.desk", "desk.css")


@cache
def script_text() -> str:
    """The desk's own script."""
    return _text("pipeline.desk", "desk.js")


@cache
def sign_text() -> str:
    """The pages' sign, an SVG."""
    return _text("reports", "mark.svg")


def _text(package: str, name: str) -> str:
    return (files(package) / "assets" / name).read_text(encoding="utf-8")

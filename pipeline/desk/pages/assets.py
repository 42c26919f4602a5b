"""Stylesheet, script and logo of every page, read once from the installed package."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from pipeline.desk.web.addresses import ANYONE, DeskPage
from reports.theme import css_tokens

DAY_S = 86_400


@cache
def stylesheet() -> str:
    """Colours in light and dark, the reports' look, the desk's forms."""
    return css_tokens() + _text("reports", "page.css") + _text("pipeline.desk", "desk.css")


@cache
def script_text() -> str:
    """The desk's own script."""
    return _text("pipeline.desk", "desk.js")


@cache
def stopwatch_text() -> str:
    """The stopwatches of the form."""
    return _text("pipeline.desk", "stopwatch.js")


@cache
def logo_text() -> str:
    """The pages' logo, an SVG."""
    return _text("reports", "mark.svg")


def _text(package: str, name: str) -> str:
    return (files(package) / "assets" / name).read_text(encoding="utf-8")


async def style(_request: Request) -> Response:
    """The stylesheet: the reports' own and the desk's additions."""
    return _asset(stylesheet(), "text/css; charset=utf-8")


async def script(_request: Request) -> Response:
    """The script: dropped files, kept drafts. Every page works without it."""
    return _asset(script_text(), "text/javascript; charset=utf-8")


async def stopwatch(_request: Request) -> Response:
    """The script of the stopwatches."""
    return _asset(stopwatch_text(), "text/javascript; charset=utf-8")


async def logo(_request: Request) -> Response:
    """The logo of the pages."""
    return _asset(logo_text(), "image/svg+xml")


async def robots(_request: Request) -> Response:
    """Search engines stay out."""
    return PlainTextResponse("User-agent: *\nDisallow: /\n")


def _asset(text: str, media_type: str) -> Response:
    return Response(text, media_type=media_type, headers={"cache-control": f"public, max-age={DAY_S}"})


ADDRESSES = (
    DeskPage("/desk.css", style, ANYONE),
    DeskPage("/desk.js", script, ANYONE),
    DeskPage("/stopwatch.js", stopwatch, ANYONE),
    DeskPage("/mark.svg", logo, ANYONE),
    DeskPage("/robots.txt", robots, ANYONE, reached_by="asked for by search engines"),
)

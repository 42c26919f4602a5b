"""A page value into HTML. Everything is escaped by the templates; script data can't close its own block."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from functools import cache
from typing import TYPE_CHECKING, Any

from reports.page import (
    Block,
    Cards,
    ChartBlock,
    Chooser,
    Folded,
    Page,
)

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

_FIGURE_AND_WORD = re.compile(
    r"(\d) (?=%|parts?\b|times\b|growers?\b|series\b|pots?\b|runs?\b|l\b|ml\b|cm\b)"
)
_LONG_NAME = re.compile(r"(?<=[a-z0-9])_(?=[a-z0-9])")


def as_html(page: Page, pictures: frozenset[str] = frozenset()) -> str:
    """The page as one HTML text. `pictures`: names of charts that also lie in `pictures/` as files."""
    up = "../" * page.depth
    template = environment().get_template("page.html.jinja")
    return template.render(
        page=page,
        up=up,
        downloads=pictures,
        has_charts=any(isinstance(block, ChartBlock) for block in every_block(page)),
        href=lambda target: target if target.startswith(("#", "../")) else up + target,
    )


def every_block(page: Page) -> Iterator[Block]:
    """All blocks of a page, those inside others too."""
    yield from _inside(page.opening)
    for section in page.sections:
        yield from _inside(section.blocks)


def _inside(blocks: Iterable[Block]) -> Iterator[Block]:
    for block in blocks:
        yield block
        match block:
            case Folded():
                yield from _inside(block.blocks)
            case Cards():
                for card in block.cards:
                    yield from _inside(card.blocks)
            case Chooser():
                for _, inner in block.panels:
                    yield from _inside(inner)


def safe_json(value: Any) -> str:
    """JSON that can stand inside a script element: no `<`, `>`, `&` and no line separators."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    for character, escape in (
        ("<", "\\u003c"),
        (">", "\\u003e"),
        ("&", "\\u0026"),
        ("\u2028", "\\u2028"),
        ("\u2029", "\\u2029"),
    ):
        text = text.replace(character, escape)
    return text


def _tied(words: Markup) -> Markup:
    """A figure and its word stay on one line; a long name may break behind its underscores, nowhere else."""
    kept = _FIGURE_AND_WORD.sub("\\1\u00a0", words)
    return type(words)(_LONG_NAME.sub("_<wbr>", kept))


@cache
def environment() -> Environment:
    """The templates of the pages and of what is printed."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("reports"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(
        kind=lambda value: type(value).__name__,
        tied=_tied,
        json_text=lambda spec: Markup(safe_json(spec)),  # noqa: S704 - every < is escaped by safe_json
        drawn=lambda svg: Markup(svg),  # noqa: S704 - built as an element tree by reports.charts
    )
    return environment

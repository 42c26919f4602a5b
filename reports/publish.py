"""Pages into files: each as its path below a folder and its bytes. Nothing here touches the disk.

The style sheet, the script and the mark are packaged with the code, like the templates.
"""

from __future__ import annotations

import pkgutil
import re
from collections.abc import Iterator, Sequence

from reports.frame import DRAFT
from reports.page import Page
from reports.pages.members.steps import CHECK_SECTION
from reports.pages.months import MonthEntry, atom_feed, months_page
from reports.pictures import picture_files
from reports.render import as_html
from reports.theme import css_tokens

SUPERSEDED_PLACE = "<!--superseded-->"
_UP = re.compile(r'href="((?:\.\./)*)(edition-[0-9]+/)?')
_NO_MARKS = '<div role="region" aria-label="Marks of this report"></div>\n'
_CHECK_SECTION = re.compile(rf'<section id="{CHECK_SECTION}">.*?</section>\n', re.DOTALL)


def page_files(pages: Sequence[Page]) -> Iterator[tuple[str, bytes]]:
    """Every file of a month's pages: shared files, pages, their downloads, pictures."""
    pictures, names = picture_files(pages)
    yield from _shared_files()
    for page in pages:
        yield page.path, as_html(page, names).encode()
        yield from ((file.path, file.content) for file in page.downloads)
    yield from ((file.path, file.content) for file in pictures)


def index_files(entries: Sequence[MonthEntry]) -> Iterator[tuple[str, bytes]]:
    """The index over months and its feed, with what they need beside them."""
    yield from _styles()
    yield "feed.xml", atom_feed(entries)
    yield "index.html", as_html(months_page(entries)).encode()


def published(html: str) -> str:
    """The page of a draft as it stands once its edition is published: without the marks of a draft. Any other page
    as it is."""
    html = _CHECK_SECTION.sub("", html.replace(f'<p class="mark">{DRAFT}</p>', "", 1), count=1)
    return html.replace(_NO_MARKS, "", 1)


def moved_down(html: str, depth: int) -> str:
    """A page of a month's folder as it stands in the folder of an older edition, one further down: its links out of the
    month's folder and to other editions lead there from there. `depth`: folders between the page and that folder."""

    def led_on(link: re.Match[str]) -> str:
        up, edition = link[1], link[2] or ""
        outside = up.count("../") > depth or (up.count("../") == depth and edition)
        return f'href="{"../" if outside else ""}{up}{edition}'

    return _UP.sub(led_on, html)


def superseded(html: str, depth: int, newer_edition: int) -> str:
    """The page of an older edition with the mark that a newer one stands above it. `depth`: folders between the page
    and the older edition's own folder."""
    note = (
        f'<p class="mark">Superseded: edition {int(newer_edition)} has taken this page’s place. '
        f'<a href="{"../" * depth}../index.html">To the newest edition</a></p>'
    )
    return html.replace(SUPERSEDED_PLACE, note, 1)


def _shared_files() -> Iterator[tuple[str, bytes]]:
    import vl_convert

    yield from _styles()
    yield "charts.js", vl_convert.javascript_bundle().encode()  # type: ignore[call-arg]  # no snippet: the whole bundle


def _styles() -> Iterator[tuple[str, bytes]]:
    yield "page.css", css_tokens().encode() + _packaged("page.css")
    yield "page.js", _packaged("page.js")
    yield "mark.svg", _packaged("mark.svg")


def _packaged(name: str) -> bytes:
    content = pkgutil.get_data("reports", f"assets/{name}")
    if content is None:
        raise LookupError(f"the package holds no {name}")
    return content
